using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Waiting;

internal enum FreedState
{
    Offering,
    Taken,
    Over,
}

/// <summary>A time that a lesson or a test left: written with the change that freed it, offered by a job afterwards.</summary>
internal sealed class FreedSlot
{
    public Guid Id { get; init; } = RowId.New();

    public required Guid InstructorId { get; init; }

    public required Instant StartsAt { get; init; }

    public required Instant EndsAt { get; init; }

    public required Instant FreedAt { get; init; }

    /// <summary>Who gave it up is not offered it again.</summary>
    public required Guid FreedByPupilId { get; init; }

    public FreedState State { get; set; }

    internal sealed class Configuration : IEntityTypeConfiguration<FreedSlot>
    {
        public void Configure(EntityTypeBuilder<FreedSlot> entity)
        {
            entity.ToTable("freed_slots", "diary", t => t.HasCheckConstraint("freed_slots_end_after_start", "ends_at > starts_at"));
            entity.Property(f => f.Id).ValueGeneratedNever();
            entity.HasIndex(f => f.StartsAt).HasFilter("state = 'Offering'");
            // Those long past, to be cleared.
            entity.HasIndex(f => f.StartsAt, "freed_slots_past");
        }
    }
}
