using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Web.Modules.Diary.Lessons;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Covers;

internal enum CoverState
{
    /// <summary>Still being worked out.</summary>
    Working,

    /// <summary>Worked out, for the office to look at.</summary>
    Proposed,

    /// <summary>Carried out.</summary>
    Applied,

    /// <summary>Dropped by the office.</summary>
    Stopped,
}

/// <summary>A search for cover, and what came of it. Kept in the database, so that any node may work on it or show it.</summary>
internal sealed class CoverPlan : Versioned
{
    public const int LongestReason = 100;

    /// <summary>Who is ill; null when it is about a car.</summary>
    public required Guid? InstructorId { get; init; }

    /// <summary>Which car is off the road; null when it is about an instructor.</summary>
    public required Guid? CarId { get; init; }

    public required Instant StartsAt { get; init; }

    public required Instant EndsAt { get; init; }

    public required string Reason { get; init; }

    /// <summary>How far a lesson may move where its pupil gave no times of their own.</summary>
    public required int MayMoveMinutes { get; init; }

    public required Instant AskedAt { get; init; }

    public CoverState State { get; private set; } = CoverState.Working;

    public int Done { get; private set; }

    public int Of { get; private set; }

    /// <summary>The proposal, as <see cref="CoverAnswer"/> in JSON; null while it is worked out.</summary>
    public string? Answer { get; private set; }

    /// <summary>What the diary looked like then: see <see cref="CoverReader"/>.</summary>
    public string Seen { get; private set; } = "";

    public Interval During => new(StartsAt, EndsAt);

    public CancelReason Because => InstructorId is not null ? CancelReason.InstructorIll : CancelReason.Car;

    public void Propose(CoverAnswer answer, string seen) =>
        (State, Answer, Seen) = (CoverState.Proposed, answer.ToJson(), seen);

    public Refusal? Apply()
    {
        if (State is not CoverState.Proposed)
        {
            return NotOpen();
        }

        State = CoverState.Applied;
        return null;
    }

    public Refusal? Stop()
    {
        if (State is CoverState.Applied)
        {
            return NotOpen();
        }

        State = CoverState.Stopped;
        return null;
    }

    public Refusal NotOpen() => State switch
    {
        CoverState.Working => Refusal.Conflict("cover_not_ready", "This is still being worked out. Look again in a moment."),
        CoverState.Applied => Refusal.Conflict("cover_applied", "This was carried out already."),
        _ => Refusal.Conflict("cover_stopped", "This was dropped. Ask for cover again."),
    };

    internal sealed class Configuration : IEntityTypeConfiguration<CoverPlan>
    {
        public void Configure(EntityTypeBuilder<CoverPlan> entity)
        {
            entity.ToTable("covers", "diary", t =>
            {
                t.HasCheckConstraint("covers_end_after_start", "ends_at > starts_at");
                t.HasCheckConstraint("covers_for_one", "(instructor_id IS NULL) <> (car_id IS NULL)");
            });
            entity.Ignore(c => c.During);
            entity.Ignore(c => c.Because);
            entity.HasIndex(c => c.AskedAt);
        }
    }
}
