using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Syllabus;
using School.Web.Modules.Syllabus.Shipped;
using School.Web.Platform.Database;

namespace School.Web.Modules.Syllabus;

internal sealed class SyllabusDefaults(IClock clock) : IModuleDefaults
{
    private const string Shipped = "great-britain/";
    private const string Values = Shipped + "values.json";
    private static readonly Lazy<SyllabusEdition> Read = new(() => new(1, ReadShipped().Groups));

    public async Task AddMissingAsync(SchoolDb db, CancellationToken cancel)
    {
        if (!await db.Set<SyllabusSettings>().AnyAsync(cancel))
        {
            db.Add(new SyllabusSettings { Id = SyllabusSettings.Only });
        }

        if (!await db.Set<KeptEdition>().AnyAsync(cancel))
        {
            db.Add(KeptEdition.Of(GreatBritain(), clock.GetCurrentInstant(), "The service", "As shipped for Great Britain."));
        }
    }

    /// <summary>The 27 skills in 8 groups of the driver's record, with our own words for each.</summary>
    public static SyllabusEdition GreatBritain() => Read.Value;

    private static ShippedTexts ReadShipped()
    {
        var files = typeof(SyllabusDefaults).Assembly.GetManifestResourceNames().Where(name => name.StartsWith(Shipped, StringComparison.Ordinal) && name != Values);
        return ShippedTexts.Read(Parsed<List<OfficialValue>>(Values), [.. files.Order(StringComparer.Ordinal).Select(Parsed<SkillGroup>)]);
    }

    private static T Parsed<T>(string name)
    {
        using var stream = typeof(SyllabusDefaults).Assembly.GetManifestResourceStream(name)!;
        return JsonSerializer.Deserialize<T>(stream, KeptEdition.Format)!;
    }
}
