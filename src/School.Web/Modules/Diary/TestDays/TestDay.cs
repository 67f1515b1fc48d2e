using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Core.Cars;
using School.Core.Diary.TestDays;
using School.Core.Diary.Time;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.TestDays;

internal enum TestDayState
{
    Booked,
    Passed,
    Failed,

    /// <summary>Taken off the diary: the pupil cancelled it, or it did not take place.</summary>
    TakenOff,
}

/// <summary>How a test day ended.</summary>
internal enum TestEnding
{
    /// <summary>The test was driven to its end: passed or failed.</summary>
    Completed,

    /// <summary>The examiner stopped it for safety: failed.</summary>
    Stopped,

    /// <summary>The number plate could not be read: failed before driving.</summary>
    EyesightFailed,

    /// <summary>It was not held: papers missing, the car not accepted, late or absent. Neither passed nor failed.</summary>
    NotConducted,

    /// <summary>The agency called it off (weather, no examiner); it sends a new date itself.</summary>
    CancelledByAgency,
}

/// <summary>Everything about a test day that can be changed until it is over.</summary>
internal sealed record TestDayFacts(
    Instant StartsAt, Duration Length, int LeadMinutes, int TailMinutes, Place Centre, Nation Nation, Place PickUp, bool EndsAtPickUp, string Reference,
    Gearbox Gearbox, Guid? InstructorId, Guid? CarId, bool OwnCar, bool Extended = false);

/// <summary>
/// A pupil's official practical test as the diary knows it, with the time kept free around it. Booking, moving or cancelling the
/// test itself is the pupil's own business.
/// </summary>
internal sealed class TestDay : Versioned
{
    public const int LongestReference = 30;
    public const int LongestNote = 1000;
    public const int MostAround = 240;

    private TestDay()
    {
    }

    public required Guid PupilId { get; init; }

    /// <summary>Who goes along; null where that is open.</summary>
    public Guid? InstructorId { get; private set; }

    /// <summary>The school's car that is driven; null while not settled or where it is the pupil's own.</summary>
    public Guid? CarId { get; private set; }

    /// <summary>The pupil drives a car that is not the school's.</summary>
    public bool OwnCar { get; private set; }

    /// <summary>When the appointment begins.</summary>
    public Instant StartsAt { get; private set; }

    public Instant EndsAt { get; private set; }

    /// <summary>The appointment with lead and tail: what the diary is kept free for.</summary>
    public Instant BlockedFrom { get; private set; }

    public Instant BlockedUntil { get; private set; }

    public Place Centre { get; private set; } = null!;

    public Nation Nation { get; private set; }

    public Place PickUp { get; private set; } = null!;

    /// <summary>Whether the pupil is brought back to the pick-up within the tail; else the day goes on from the centre.</summary>
    public bool EndsAtPickUp { get; private set; }

    public string Reference { get; private set; } = "";

    public Gearbox Gearbox { get; private set; }

    /// <summary>When the office saw that the car is insured for a test.</summary>
    public LocalDate? InsuredSeenOn { get; set; }

    /// <summary>An extended test, as a court may order it.</summary>
    public bool Extended { get; private set; }

    public TestDayState State { get; private set; }

    /// <summary>How it ended; null while it is ahead, and where it was simply taken off.</summary>
    public TestEnding? Ending { get; private set; }

    public int Driving { get; private set; }

    public int Serious { get; private set; }

    public int Dangerous { get; private set; }

    /// <summary>By heading, as far as entered.</summary>
    public List<TestDayMarks> Marks { get; private set; } = [];

    /// <summary>How often the examiner spoke up or acted: noted, not a fault.</summary>
    public int EtaVerbal { get; private set; }

    public int EtaPhysical { get; private set; }

    /// <summary>For staff.</summary>
    public string Note { get; private set; } = "";

    public required Instant EnteredAt { get; init; }

    public Instant ChangedAt { get; private set; }

    /// <summary>Rises with every change that a calendar must notice (RFC 5545 3.8.7.4).</summary>
    public int Sequence { get; private set; }

    public bool HasResult => State is TestDayState.Passed or TestDayState.Failed;

    public Interval During => new(StartsAt, EndsAt);

    public Interval Blocked => new(BlockedFrom, BlockedUntil);

    public int LeadMinutes => (int)(StartsAt - BlockedFrom).TotalMinutes;

    public int Minutes => (int)(EndsAt - StartsAt).TotalMinutes;

    public int TailMinutes => (int)(BlockedUntil - EndsAt).TotalMinutes;

    public Place EndsWhere => EndsAtPickUp ? PickUp : Centre;

    public TestMarks Sum => new(Driving, Serious, Dangerous);

    public static TestDay Enter(Guid pupilId, TestDayFacts facts, Instant now, Guid? id = null)
    {
        var row = new TestDay { Id = id ?? RowId.New(), PupilId = pupilId, EnteredAt = now };
        row.Take(facts);
        row.ChangedAt = now;
        return row;
    }

    /// <summary>Whether anything changed that a calendar or a person must be told.</summary>
    public bool Change(TestDayFacts facts, Instant now)
    {
        var before = (StartsAt, BlockedFrom, BlockedUntil, Centre, Nation, PickUp, EndsAtPickUp, InstructorId, CarId, OwnCar);
        Take(facts);
        var changed = before != (StartsAt, BlockedFrom, BlockedUntil, Centre, Nation, PickUp, EndsAtPickUp, InstructorId, CarId, OwnCar);
        if (changed)
        {
            Announce(now);
        }

        return changed;
    }

    /// <summary>Why it can no longer be changed; null while it is ahead.</summary>
    public Refusal? NotOpen(string done) => State is TestDayState.Booked ? null : Refusal.Conflict(
        "test_day_closed", State is TestDayState.TakenOff
            ? $"This test day is off the diary already, so it cannot be {done}."
            : $"The result of this test is recorded, so the day cannot be {done}. Put the result right instead.");

    /// <summary>Off the diary; with the reason where it was not held.</summary>
    public void TakeOff(Instant now, TestEnding? ending = null)
    {
        (State, Ending) = (TestDayState.TakenOff, ending);
        Announce(now);
    }

    public void Record(TestEnding ending, bool passed, TestMarks sum, IEnumerable<TestDayMarks> marks, int etaVerbal, int etaPhysical, string note)
    {
        (State, Ending) = (passed ? TestDayState.Passed : TestDayState.Failed, ending);
        (Driving, Serious, Dangerous) = sum;
        Marks = [.. marks];
        (EtaVerbal, EtaPhysical, Note) = (etaVerbal, etaPhysical, note);
    }

    private void Take(TestDayFacts facts)
    {
        (StartsAt, EndsAt) = (facts.StartsAt, facts.StartsAt + facts.Length);
        BlockedFrom = StartsAt - Duration.FromMinutes(facts.LeadMinutes);
        BlockedUntil = EndsAt + Duration.FromMinutes(facts.TailMinutes);
        (Centre, Nation, PickUp, EndsAtPickUp) = (facts.Centre, facts.Nation, facts.PickUp, facts.EndsAtPickUp);
        (Reference, Gearbox, Extended) = (facts.Reference, facts.Gearbox, facts.Extended);
        // What was seen about one car says nothing of another.
        InsuredSeenOn = (CarId, OwnCar) == (facts.CarId, facts.OwnCar) ? InsuredSeenOn : null;
        (InstructorId, CarId, OwnCar) = (facts.InstructorId, facts.CarId, facts.OwnCar);
    }

    private void Announce(Instant now)
    {
        Sequence++;
        ChangedAt = now;
    }

    internal sealed class Configuration : IEntityTypeConfiguration<TestDay>
    {
        public void Configure(EntityTypeBuilder<TestDay> entity)
        {
            entity.ToTable("test_days", "diary", t => t.HasCheckConstraint(
                "test_days_times", "blocked_from <= starts_at AND starts_at < ends_at AND ends_at <= blocked_until"));
            entity.ComplexProperty(t => t.Centre);
            entity.ComplexProperty(t => t.PickUp);
            entity.Property(t => t.Ending).HasConversion<string>();
            entity.Property(t => t.Extended).HasDefaultValue(false);
            entity.OwnsMany(t => t.Marks, marks => marks.ToJson("marks"));
            foreach (var computed in new[]
            {
                nameof(HasResult), nameof(During), nameof(Blocked), nameof(LeadMinutes), nameof(Minutes), nameof(TailMinutes), nameof(EndsWhere), nameof(Sum),
            })
            {
                entity.Ignore(computed);
            }

            entity.HasIndex(t => t.StartsAt);
            // What is ahead, or has no result yet, of all tests that ever were.
            entity.HasIndex(t => t.StartsAt, "ix_test_days_booked").HasFilter($"state = '{nameof(TestDayState.Booked)}'");
            // The centres entered last, whatever the day of the test.
            entity.HasIndex(t => t.EnteredAt);
            entity.HasIndex(t => t.PupilId);
            // The last who passed, and whether somebody had passed before.
            entity.HasIndex(t => t.StartsAt, "test_days_passed").HasFilter($"state = '{nameof(TestDayState.Passed)}'").HasDatabaseName("test_days_passed");
            entity.HasIndex(t => new { t.PupilId, t.StartsAt }, "test_days_passed_of_pupil").HasFilter($"state = '{nameof(TestDayState.Passed)}'").HasDatabaseName("test_days_passed_of_pupil");
            entity.HasIndex(t => t.InstructorId);
            entity.HasIndex(t => t.CarId);
        }
    }
}

/// <summary>Faults under one heading of the marking sheet.</summary>
internal sealed record TestDayMarks
{
    public required string Heading { get; init; }

    public int Driving { get; init; }

    public int Serious { get; init; }

    public int Dangerous { get; init; }

    public TestMarks Count() => new(Driving, Serious, Dangerous);
}
