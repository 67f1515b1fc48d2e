using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using School.Web.Platform.Database;

namespace School.Web.Modules.Records.Retention;

/// <summary>For how many days the school keeps what it may decide about; there is one row.</summary>
internal sealed class RetentionSettings : Versioned
{
    public static readonly Guid Only = new("00000000-0000-7000-8000-000000000009");

    /// <summary>Days by the code of the rule, in JSON; a rule that is not there keeps to its own.</summary>
    public string Days { get; private set; } = "{}";

    public IReadOnlyDictionary<string, int> ByCode() => JsonSerializer.Deserialize<Dictionary<string, int>>(Days)!;

    public void Take(IReadOnlyDictionary<string, int> days) =>
        Days = JsonSerializer.Serialize(new SortedDictionary<string, int>(days.ToDictionary(), StringComparer.Ordinal));

    internal sealed class Configuration : IEntityTypeConfiguration<RetentionSettings>
    {
        public void Configure(EntityTypeBuilder<RetentionSettings> entity) => entity.ToTable("retention_settings", "records");
    }
}

internal sealed class RetentionDefaults : IModuleDefaults
{
    public async Task AddMissingAsync(SchoolDb db, CancellationToken cancel)
    {
        if (!await db.Set<RetentionSettings>().AnyAsync(cancel))
        {
            db.Add(new RetentionSettings { Id = RetentionSettings.Only });
        }
    }
}
