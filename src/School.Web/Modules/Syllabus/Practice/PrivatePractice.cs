using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Syllabus.Practice;

/// <summary>What a drive was like, as far as it matters for learning.</summary>
internal enum PracticeCondition
{
    QuietStreets,
    Town,
    Country,
    FastRoads,
    HeavyTraffic,
    Dark,
    Rain,
    IceOrFog,
    Passengers,
}

/// <summary>A drive between lessons with somebody who was not paid for it, as the pupil logged it.</summary>
internal sealed class PrivatePractice : Versioned
{
    public const int LongestName = 100;
    public const int MostConditions = 20;

    /// <summary>Of one drive, and of all drives of one day together: common practice, no source.</summary>
    public const int MostMinutes = 600;

    public required Guid PupilId { get; init; }

    public required LocalDate On { get; set; }

    public required int Minutes { get; set; }

    public List<PracticeCondition> Conditions { get; set; } = [];

    /// <summary>Who sat beside the pupil.</summary>
    public required string Supervisor { get; set; }

    /// <summary>Keys of the skills that were worked on, in the edition beside them.</summary>
    public List<string> Skills { get; set; } = [];

    public required int Edition { get; set; }

    public required Instant LoggedAt { get; set; }

    /// <summary>Who wrote it down last: the pupil, or one of the staff for them.</summary>
    public required string LoggedBy { get; set; }

    internal sealed class Configuration : IEntityTypeConfiguration<PrivatePractice>
    {
        public void Configure(EntityTypeBuilder<PrivatePractice> entity)
        {
            entity.ToTable("private_practice", "syllabus", t => t.HasCheckConstraint("private_practice_minutes", "minutes BETWEEN 1 AND 600"));
            entity.PrimitiveCollection(p => p.Conditions).ElementType(e => e.HasConversion<string>());
            entity.HasIndex(p => new { p.PupilId, p.On });
        }
    }
}

internal static class PrivatePracticeRows
{
    /// <summary>Whose rows: a pupil only their own, staff every pupil's.</summary>
    public static IQueryable<PrivatePractice> VisibleTo(this IQueryable<PrivatePractice> rows, Viewer viewer) =>
        viewer.KeepsLearning ? rows : rows.Where(p => p.PupilId == viewer.PupilId);
}
