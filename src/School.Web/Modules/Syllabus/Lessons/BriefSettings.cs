using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using School.Core;
using School.Web.Platform.Database;

namespace School.Web.Modules.Syllabus.Lessons;

/// <summary>When pupils are sent their brief; there is one row.</summary>
internal sealed class BriefSettings : Versioned
{
    public static readonly Guid Only = new("00000000-0000-7000-8000-000000000005");

    /// <summary>Six in the evening: common practice, no source.</summary>
    public const int UsualHour = 18;

    public const int EarliestHour = 12;
    public const int LatestHour = 22;

    /// <summary>The local hour of the evening before; null where no brief is sent.</summary>
    public int? Hour { get; set; } = UsualHour;

    internal sealed class Configuration : IEntityTypeConfiguration<BriefSettings>
    {
        public void Configure(EntityTypeBuilder<BriefSettings> entity)
        {
            entity.ToTable("brief_settings", "syllabus", t => t.HasCheckConstraint("brief_settings_hour", "hour BETWEEN 12 AND 22"));
            entity.HasKey(s => s.Id).HasName("pk_brief_settings");
        }
    }
}

internal sealed class BriefDefaults : IModuleDefaults
{
    public async Task AddMissingAsync(SchoolDb db, CancellationToken cancel)
    {
        if (!await db.Set<BriefSettings>().AnyAsync(cancel))
        {
            db.Add(new BriefSettings { Id = BriefSettings.Only });
        }
    }
}

internal sealed record BriefSettingsBody
{
    [Between(BriefSettings.EarliestHour, BriefSettings.LatestHour)]
    public required int? Hour { get; init; }

    public static BriefSettingsBody Of(BriefSettings row) => new() { Hour = row.Hour };
}

/// <summary>Reads when pupils are sent their brief.</summary>
internal sealed class BriefSettingsBook(SchoolDb db)
{
    public Task<BriefSettings> ReadAsync(CancellationToken cancel) => db.Set<BriefSettings>().AsNoTracking().SingleAsync(cancel);
}
