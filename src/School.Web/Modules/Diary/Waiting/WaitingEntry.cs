using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Core.Diary;
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

/// <summary>What is waited for.</summary>
/// <param name="For">An earlier lesson, or one more.</param>
/// <param name="InstructorId">Only with this instructor; anybody when null.</param>
/// <param name="From">First of the days on which it is wanted; null for an earlier lesson, which any day before it serves.</param>
/// <param name="To">Last of them.</param>
/// <param name="Kind">What the lesson more is for; an earlier lesson stays what it is.</param>
internal sealed record WaitingWish(WaitingFor For, Guid? InstructorId, LocalDate? From, LocalDate? To, LessonKind Kind = LessonKind.Standard);

/// <summary>A pupil who would take a time that somebody gives up.</summary>
internal sealed class WaitingEntry : Versioned
{
    public required Guid PupilId { get; init; }

    public WaitingFor For { get; private set; }

    public Guid? InstructorId { get; private set; }

    public LocalDate? From { get; private set; }

    public LocalDate? To { get; private set; }

    /// <summary>Of a lesson more; that of an earlier lesson is its own.</summary>
    public LessonKind Kind { get; private set; }

    /// <summary>The place in the order: it stays when the wish is changed.</summary>
    public required Instant Since { get; init; }

    public WaitingState State { get; private set; }

    public Instant? ClosedAt { get; private set; }

    public WaitingEntry Take(WaitingWish wish)
    {
        (For, InstructorId, From, To, Kind) = wish;
        return this;
    }

    /// <summary>Whether a time of this instructor on this date would be taken.</summary>
    public bool Wants(Guid instructorId, LocalDate date) =>
        (InstructorId is null || InstructorId == instructorId) && (From is null || From <= date) && (To is null || To >= date);

    public Refusal? Change(WaitingWish wish)
    {
        if (State != WaitingState.Waiting)
        {
            return Closed;
        }

        Take(wish);
        return null;
    }

    private static Refusal Closed => Refusal.Conflict("waiting_closed", "This entry is no longer on the waiting list.");

    public Refusal? Close(WaitingState state, Instant now)
    {
        if (State != WaitingState.Waiting)
        {
            return Closed;
        }

        (State, ClosedAt) = (state, now);
        return null;
    }

    internal sealed class Configuration : IEntityTypeConfiguration<WaitingEntry>
    {
        public void Configure(EntityTypeBuilder<WaitingEntry> entity)
        {
            entity.ToTable("waiting", "diary", t => t.HasCheckConstraint("waiting_days", "(\"for\" = 'AnyLesson') = (\"from\" IS NOT NULL) AND \"from\" <= \"to\""));
            entity.Property(w => w.Kind).HasDefaultValue(LessonKind.Standard).HasSentinel(LessonKind.Standard);
            entity.HasIndex(w => new { w.PupilId, w.For }).IsUnique().HasFilter("state = 'Waiting'").HasDatabaseName("waiting_once");
            // Those closed long ago, to be cleared.
            entity.HasIndex(w => w.ClosedAt).HasFilter("closed_at IS NOT NULL");
        }
    }
}
