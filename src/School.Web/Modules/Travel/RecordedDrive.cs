using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Core.Travel;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Travel;

/// <summary>A drive from one place to another as an instructor recorded it; without an arrival while it is under way.</summary>
internal sealed class RecordedDrive : Versioned
{
    public const int LongestMinutes = 240;

    /// <summary>Older ones are deleted: they say little of today's roads, and where somebody was is nobody's business for ever.</summary>
    public static readonly Duration Kept = Duration.FromDays(400);

    /// <summary>The school may have them for shorter; <see cref="Routing.ClearOldTravel"/> holds to the most, whatever is chosen.</summary>
    public static readonly RetentionRule Retention = new(
        "recorded_drives", "Recorded drives", "From where to where an instructor drove and how long it took, from when they left.",
        "Driving times are fitted to them, for which eight weeks are the least that tell anything. Older ones say little of today's roads, and where somebody was is nobody's business for ever.")
    {
        Days = (int)Kept.TotalDays,
        Least = 56,
        Most = (int)Kept.TotalDays,
        Table = "travel.legs",
        Key = "id",
        Since = "r.left_at",
    };

    public required Guid InstructorId { get; init; }

    public required string FromLabel { get; init; }

    public required double FromLatitude { get; init; }

    public required double FromLongitude { get; init; }

    public required string ToLabel { get; init; }

    public required double ToLatitude { get; init; }

    public required double ToLongitude { get; init; }

    public required Instant LeftAt { get; init; }

    public Instant? ArrivedAt { get; set; }

    public Coordinates From => new(FromLatitude, FromLongitude);

    public Coordinates To => new(ToLatitude, ToLongitude);

    public RecordedLeg ToLeg(DateTimeZone zone) =>
        new(Id, From, To, LeftAt.InZone(zone).LocalDateTime, (ArrivedAt!.Value - LeftAt).TotalMinutes);

    internal sealed class Configuration : IEntityTypeConfiguration<RecordedDrive>
    {
        public void Configure(EntityTypeBuilder<RecordedDrive> entity)
        {
            entity.ToTable("legs", "travel", t => t.HasCheckConstraint("legs_arrived_after_left", "arrived_at > left_at"));
            entity.Ignore(drive => drive.From).Ignore(drive => drive.To);
            entity.HasIndex(drive => new { drive.InstructorId, drive.LeftAt });
            entity.HasIndex(drive => drive.LeftAt);
            entity.HasIndex(drive => drive.InstructorId).IsUnique().HasFilter("arrived_at IS NULL").HasDatabaseName("legs_one_under_way");
        }
    }
}

internal static class DriveAccess
{
    /// <summary>Whether the instructor's recorded drives are the viewer's to see and change.</summary>
    public static bool MayRecordFor(this Viewer viewer, Guid instructorId) => viewer.KeepsDiary || viewer.InstructorId == instructorId;
}
