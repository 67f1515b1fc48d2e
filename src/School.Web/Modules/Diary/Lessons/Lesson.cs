using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Charges;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Lessons;

internal enum CancelReason
{
    Pupil,
    InstructorIll,
    Weather,
    Car,
    Other,
}

internal sealed class Lesson : Versioned
{
    public const int ShortestMinutes = 15;
    public const int LongestMinutes = 480;

    /// <summary>No lesson takes longer, its breaks included; it lets an index on the start alone bound a search.</summary>
    public static readonly Duration Longest = Duration.FromMinutes(LessonPlan.LongestElapsed);

    public const int LongestNote = 1000;

    /// <summary>How long an instructor waits at the pick-up before a pupil counts as not there: common practice, no source.</summary>
    public static readonly Duration WaitBeforeMissed = Duration.FromMinutes(10);

    private Lesson()
    {
    }

    public required Guid PupilId { get; init; }

    public Guid InstructorId { get; private set; }

    public Guid CarId { get; private set; }

    public LessonKind Kind { get; private set; }

    public Instant StartsAt { get; private set; }

    public Instant EndsAt { get; private set; }

    /// <summary>Rests within it, in order.</summary>
    public IReadOnlyList<LessonBreak> Breaks
    {
        get => LessonBreak.Read(KeptBreaks);
        private set => KeptBreaks = LessonBreak.Write(value);
    }

    public string KeptBreaks { get; private set; } = "";

    /// <summary>How long they are together.</summary>
    public int BreakMinutes { get; private set; }

    public LessonState State { get; private set; }

    public required Place PickUp { get; set; }

    public required Place DropOff { get; set; }

    public required Instant BookedAt { get; init; }

    /// <summary>The same for all that were booked together as weekly lessons; null for a lesson by itself.</summary>
    public Guid? SeriesId { get; init; }

    /// <summary>When time, place or state last changed: the stamp that calendars see.</summary>
    public Instant ChangedAt { get; private set; }

    /// <summary>Rises with every change of time, place or state that a calendar must notice (RFC 5545 3.8.7.4).</summary>
    public int Sequence { get; private set; }

    public CancelReason? CancelledBecause { get; private set; }

    /// <summary>Decided when it is moved, cancelled or missed, by the terms as they stood that day; the last decision. The money follows it.</summary>
    public LessonCharge? Charge { get; private set; }

    /// <summary>Whether it is charged that it did not take place; null while that is not decided.</summary>
    public bool? Chargeable => State is LessonState.Cancelled or LessonState.Missed ? Charge?.Chargeable : null;

    /// <summary>Its charge comes to no money: for the letter and the history of the change that is being made, and not kept here.</summary>
    public void AskNothing() => asksNothing = true;

    public bool AsksNothing() => asksNothing;

    private bool asksNothing;

    /// <summary>When the pupil's reminder of it as it stands went; null while none did.</summary>
    public Instant? RemindedAt { get; private set; }

    public int? MinutesTaught { get; private set; }

    /// <summary>A sentence the pupil reads.</summary>
    public string Note { get; private set; } = "";

    /// <summary>For who sees the pupil by name alone; never of a row that is saved.</summary>
    public void Veil() => (PickUp, DropOff, Note) = (PickUp.ByName(), DropOff.ByName(), "");

    public Interval During => new(StartsAt, EndsAt);

    /// <summary>Minutes of teaching: without the breaks.</summary>
    public int Minutes => (int)(EndsAt - StartsAt).TotalMinutes - BreakMinutes;

    public static Lesson Book(
        Guid pupilId, Guid instructorId, Guid carId, Interval during, Place pickUp, Place dropOff, Instant now, Guid? seriesId = null, Guid? id = null,
        LessonKind kind = LessonKind.Standard, IReadOnlyList<LessonBreak>? breaks = null) => new()
        {
            Id = id ?? RowId.New(),
            PupilId = pupilId,
            InstructorId = instructorId,
            CarId = carId,
            Kind = kind,
            Breaks = breaks ?? [],
            BreakMinutes = breaks?.Sum(rest => rest.Minutes) ?? 0,
            StartsAt = during.Start,
            EndsAt = during.End,
            State = LessonState.Booked,
            PickUp = pickUp,
            DropOff = dropOff,
            BookedAt = now,
            ChangedAt = now,
            SeriesId = seriesId,
        };

    public Refusal? Move(Guid instructorId, Guid carId, Interval during, Instant now, LessonCharge? charge = null, IReadOnlyList<LessonBreak>? breaks = null)
    {
        if (NotOpen("moved") is { } refusal)
        {
            return refusal;
        }

        (InstructorId, CarId, StartsAt, EndsAt, Charge) = (instructorId, carId, during.Start, during.End, charge);
        (Breaks, BreakMinutes) = (breaks ?? Breaks, breaks?.Sum(rest => rest.Minutes) ?? BreakMinutes);
        RemindedAt = null;
        Announce(now);
        return null;
    }

    /// <summary>Makes it another kind of lesson at its own time, with the end and the rests of that.</summary>
    public Refusal? Become(LessonKind kind, Guid carId, Instant end, IReadOnlyList<LessonBreak> breaks, Instant now)
    {
        if (NotOpen("made another kind") is { } refusal)
        {
            return refusal;
        }

        (Kind, CarId, EndsAt, Breaks, BreakMinutes) = (kind, carId, end, breaks, breaks.Sum(rest => rest.Minutes));
        RemindedAt = null;
        Announce(now);
        return null;
    }

    public Refusal? Cancel(CancelReason reason, LessonCharge charge, Instant now)
    {
        if (NotOpen("cancelled") is { } refusal)
        {
            return refusal;
        }

        (State, CancelledBecause, Charge) = (LessonState.Cancelled, reason, charge);
        Announce(now);
        return null;
    }

    /// <summary>Records what happened. May be put right later; the history keeps what stood before.</summary>
    public Refusal? Record(int minutesTaught, string note, Instant now)
    {
        if (State is LessonState.Cancelled)
        {
            return Refusal.Rule("lesson_cancelled", "This lesson was cancelled, so there is nothing to record.");
        }

        if (now < StartsAt)
        {
            return Refusal.Rule("lesson_not_begun", "This lesson has not begun yet. Record it once you are parked at its end.");
        }

        if (minutesTaught < 1 || minutesTaught > Minutes)
        {
            return Refusal.Invalid("MinutesTaught", $"Minutes taught are between 1 and {Minutes}, the length of the lesson.");
        }

        var elapsed = (int)(now - StartsAt).TotalMinutes - RestedUntil(now);
        if (minutesTaught > elapsed)
        {
            return Refusal.Invalid(
                "MinutesTaught", $"Only {elapsed} minutes of {(RestedUntil(now) > 0 ? "teaching" : "this lesson")} have passed{(RestedUntil(now) > 0 ? "; a break does not count" : "")}. If it ended early, enter those; else record it once it has ended and you are parked.");
        }

        // What a late move came to holds; that the pupil was not there was wrong.
        (State, MinutesTaught, Note, Charge) = (LessonState.Taught, minutesTaught, note.Trim(), State is LessonState.Missed ? null : Charge);
        return null;
    }

    /// <summary>The pupil was not there.</summary>
    public Refusal? Miss(string note, LessonCharge charge, Instant now)
    {
        if (NotMissed() is { } refusal)
        {
            return refusal;
        }

        if (now < StartsAt)
        {
            return Refusal.Rule("lesson_not_begun", "This lesson has not begun yet.");
        }

        if (now < StartsAt + WaitBeforeMissed)
        {
            return Refusal.Rule(
                "too_soon_to_miss", $"Wait {(int)WaitBeforeMissed.TotalMinutes} minutes and call first; then record that the pupil was not there.");
        }

        (State, MinutesTaught, Note, Charge) = (LessonState.Missed, null, note.Trim(), charge);
        return null;
    }

    /// <summary>Why the lesson can no longer be moved or cancelled; null while it is booked.</summary>
    public Refusal? NotOpen(string done) => State is LessonState.Booked
        ? null
        : Refusal.Conflict("lesson_closed", $"This lesson is {State.ToString().ToLowerInvariant()} already, so it cannot be {done}.");

    /// <summary>Why nobody can have missed it at any time; null otherwise.</summary>
    public Refusal? NotMissed() => State is LessonState.Cancelled
        ? Refusal.Rule("lesson_cancelled", "This lesson was cancelled, so there is nothing to record.")
        : null;

    /// <summary>The rests as moments.</summary>
    public IEnumerable<Interval> Rests() => Breaks.Select(rest => rest.During(StartsAt));

    private int RestedUntil(Instant now) =>
        (int)Rests().Sum(rest => Math.Max(0, (Instant.Min(rest.End, now) - rest.Start).TotalMinutes));

    private void Announce(Instant now)
    {
        Sequence++;
        ChangedAt = now;
    }

    internal sealed class Configuration : IEntityTypeConfiguration<Lesson>
    {
        public void Configure(EntityTypeBuilder<Lesson> entity)
        {
            entity.ToTable("lessons", "diary", t =>
            {
                t.HasCheckConstraint("lessons_end_after_start", "ends_at > starts_at");
                t.HasCheckConstraint("lessons_breaks_within", "break_minutes >= 0 AND starts_at + make_interval(mins => break_minutes) < ends_at AND (breaks = '') = (break_minutes = 0)");
            });
            entity.ComplexProperty(l => l.PickUp);
            entity.ComplexProperty(l => l.DropOff);
            entity.ComplexProperty(l => l.Charge, charge =>
            {
                charge.Ignore(c => c.Notice);
                charge.Ignore(c => c.Ahead);
            });
            entity.Property(l => l.Kind).HasDefaultValue(LessonKind.Standard).HasSentinel(LessonKind.Standard);
            entity.Property(l => l.BreakMinutes).HasDefaultValue(0);
            entity.Property(l => l.KeptBreaks).HasColumnName("breaks").HasDefaultValue("");
            entity.Ignore(l => l.Breaks);
            entity.Ignore(l => l.Chargeable);
            entity.Ignore(l => l.During);
            entity.Ignore(l => l.Minutes);
            entity.HasIndex(l => l.StartsAt);
            // What is over and not recorded yet: a handful, however many were ever given.
            entity.HasIndex(l => l.EndsAt).HasFilter($"state = '{nameof(LessonState.Booked)}'");
            entity.HasIndex(l => new { l.InstructorId, l.StartsAt });
            entity.HasIndex(l => new { l.PupilId, l.StartsAt });
            entity.HasIndex(l => new { l.CarId, l.StartsAt });
            entity.HasIndex(l => new { l.SeriesId, l.StartsAt }).HasFilter("series_id IS NOT NULL");
        }
    }
}
