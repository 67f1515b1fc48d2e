using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Waiting;

internal enum WaitingFor
{
    /// <summary>The next booked lesson would be taken earlier.</summary>
    EarlierLesson,

    /// <summary>A lesson more, on any of some days.</summary>
    AnyLesson,
}

internal enum WaitingState
{
    Waiting,
    Served,
    Left,
    Over,
}

/// <summary>A pupil who would take a time that somebody gives up.</summary>
internal sealed class WaitingEntry : Versioned
{
    public required Guid PupilId { get; init; }

    public required WaitingFor For { get; init; }

    /// <summary>Only with this instructor; anybody when null.</summary>
    public Guid? InstructorId { get; init; }

    /// <summary>Days on which it is wanted, both included; null for an earlier lesson, which any day before it serves.</summary>
    public LocalDate? From { get; init; }

    public LocalDate? To { get; init; }

    public required Instant Since { get; init; }

    public WaitingState State { get; private set; }

    public Instant? ClosedAt { get; private set; }

    public Refusal? Close(WaitingState state, Instant now)
    {
        if (State != WaitingState.Waiting)
        {
            return Refusal.Conflict("waiting_closed", "This entry is no longer on the waiting list.");
        }

        (State, ClosedAt) = (state, now);
        return null;
    }

    internal sealed class Configuration : IEntityTypeConfiguration<WaitingEntry>
    {
        public void Configure(EntityTypeBuilder<WaitingEntry> entity)
        {
            entity.ToTable("waiting", "diary", t => t.HasCheckConstraint("waiting_days", "(\"for\" = 'AnyLesson') = (\"from\" IS NOT NULL) AND \"from\" <= \"to\""));
            entity.HasIndex(w => new { w.PupilId, w.For }).IsUnique().HasFilter("state = 'Waiting'").HasDatabaseName("waiting_once");
        }
    }
}
