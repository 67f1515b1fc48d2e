using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Core.Syllabus;

namespace School.Web.Modules.Syllabus.Lessons;

/// <summary>What sort of roads a lesson went over.</summary>
internal enum RouteKind
{
    OffRoad,
    QuietStreets,
    Town,
    Country,
    FastRoads,
    Motorway,
    TestRoutes,
}

/// <summary>A level given in a lesson, as it is kept.</summary>
internal sealed record LevelGiven
{
    /// <summary>Key of the skill in the edition that the record names.</summary>
    public required string Skill { get; init; }

    public required SkillLevel Level { get; init; }
}

/// <summary>
/// What a lesson left behind beyond its minutes and its sentence for the pupil, which the lesson itself keeps. There is at most one
/// for a lesson, and its version is the lesson's.
/// </summary>
internal sealed class LessonRecord
{
    public const int LongestText = 1000;
    public const decimal MostMiles = 300;

    public required Guid LessonId { get; init; }

    public required Guid PupilId { get; init; }

    /// <summary>The edition of the syllabus in which the skills are named.</summary>
    public required int Edition { get; set; }

    public List<LevelGiven> Levels { get; set; } = [];

    /// <summary>What was agreed for next time; the pupil reads it.</summary>
    public string Aim { get; set; } = "";

    /// <summary>For staff only.</summary>
    public string PrivateNote { get; set; } = "";

    public RouteKind? Route { get; set; }

    public decimal? Miles { get; set; }

    public required Instant RecordedAt { get; set; }

    public required Guid RecordedBy { get; set; }

    /// <summary>The pupil's own words about the lesson.</summary>
    public string Reflection { get; set; } = "";

    public Instant? ReflectedAt { get; set; }

    /// <summary>Taken by whoever writes the record, so that two never make it at once.</summary>
    public static string LockOf(Guid lessonId) => $"lesson-record:{lessonId}";

    public void Take(RecordContent content, Instant now, Guid by)
    {
        (Edition, Levels, Aim, PrivateNote) = (content.Edition, [.. content.Levels], content.Aim, content.PrivateNote);
        (Route, Miles, RecordedAt, RecordedBy) = (content.RouteKind, content.Miles, now, by);
    }

    public IReadOnlyList<SkillMark> Marks() => [.. Levels.Select(given => new SkillMark(given.Skill, given.Level))];

    internal sealed class Configuration : IEntityTypeConfiguration<LessonRecord>
    {
        public void Configure(EntityTypeBuilder<LessonRecord> entity)
        {
            entity.ToTable("lesson_records", "syllabus", t => t.HasCheckConstraint("lesson_records_miles", "miles BETWEEN 0 AND 300"));
            entity.HasKey(r => r.LessonId);
            entity.Property(r => r.LessonId).ValueGeneratedNever();
            entity.Property(r => r.Miles).HasPrecision(5, 1);
            entity.OwnsMany(r => r.Levels, levels => levels.ToJson("levels"));
            entity.HasIndex(r => r.PupilId);
        }
    }
}
