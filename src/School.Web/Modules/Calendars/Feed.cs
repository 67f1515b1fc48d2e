using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Core.Calendars;
using School.Web.Platform.Database;

namespace School.Web.Modules.Calendars;

/// <summary>A calendar address somebody may subscribe to; only the hash of its secret is kept.</summary>
internal sealed class Feed
{
    public Guid Id { get; init; } = RowId.New();

    public required byte[] SecretHash { get; init; }

    public required Guid OwnerPersonId { get; init; }

    public Guid? InstructorId { get; init; }

    public Guid? PupilId { get; init; }

    public Guid? CarId { get; init; }

    public required FeedDetail Detail { get; init; }

    public bool HideCancelled { get; init; }

    public required Instant CreatedAt { get; init; }

    public Instant? LastReadAt { get; set; }

    public Instant? RevokedAt { get; set; }

    /// <summary>SHA-256 of what was last told. A lesson that leaves the feed, or a new name, changes it without any lesson's stamp changing.</summary>
    public byte[]? ContentHash { get; set; }

    /// <summary>When that was first told.</summary>
    public Instant? ContentChangedAt { get; set; }

    /// <summary>Raised by the database itself whenever something changes that the feed may tell of (see feed-versions.sql).</summary>
    public long Version { get; private init; }

    /// <summary>The version, read before it, of which <see cref="ContentHash"/> is.</summary>
    public long? ToldVersion { get; set; }

    /// <summary>The program that wrote it: another may word it otherwise.</summary>
    public string? ToldBy { get; set; }

    /// <summary>Until then no lesson comes into the feed or leaves it by the mere passing of time.</summary>
    public Instant? ToldUntil { get; set; }

    internal sealed class Configuration : IEntityTypeConfiguration<Feed>
    {
        public void Configure(EntityTypeBuilder<Feed> entity)
        {
            entity.ToTable("feeds", "calendars", t => t.HasCheckConstraint(
                "feeds_one_subject", "num_nonnulls(instructor_id, pupil_id, car_id) = 1"));
            entity.Property(f => f.Id).ValueGeneratedNever();
            entity.Property(f => f.Version).HasDefaultValue(0L);
            entity.HasIndex(f => f.SecretHash).IsUnique();
            entity.HasIndex(f => f.OwnerPersonId);
            // Those taken back long ago, to be cleared.
            entity.HasIndex(f => f.RevokedAt).HasFilter("revoked_at IS NOT NULL");
            // Whether anybody subscribes to them is asked at each change of a lesson.
            entity.HasIndex(f => f.InstructorId).HasFilter("revoked_at IS NULL");
            entity.HasIndex(f => f.PupilId).HasFilter("revoked_at IS NULL");
            entity.HasIndex(f => f.CarId).HasFilter("revoked_at IS NULL");
        }
    }
}
