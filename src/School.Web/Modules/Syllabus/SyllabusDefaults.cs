using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Syllabus;
using School.Web.Platform.Database;

namespace School.Web.Modules.Syllabus;

internal sealed class SyllabusDefaults(IClock clock) : IModuleDefaults
{
    private const string Shipped = "great-britain/";

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
    public static SyllabusEdition GreatBritain()
    {
        var assembly = typeof(SyllabusDefaults).Assembly;
        return new(1, [.. assembly.GetManifestResourceNames().Where(name => name.StartsWith(Shipped, StringComparison.Ordinal)).Order(StringComparer.Ordinal).Select(name =>
        {
            using var stream = assembly.GetManifestResourceStream(name)!;
            return JsonSerializer.Deserialize<SkillGroup>(stream, KeptEdition.Format)!;
        })]);
    }
}
