using NodaTime;
using School.Core.Cars;
using School.Core.Diary.Time;
using School.Core.Travel;

namespace School.Core.Diary;

/// <summary>What fills a period of a diary.</summary>
public enum EntryKind
{
    /// <summary>A lesson.</summary>
    Lesson,

    /// <summary>Busy time from another calendar; usually without a place.</summary>
    Busy,

    /// <summary>A pupil's official practical test with the time kept around it. It is driven to and takes the car, but is no teaching.</summary>
    Test,
}

/// <summary>A filled period of an instructor's diary.</summary>
/// <remarks>An entry with both places is a <em>placed entry</em>: drives lead to and from it. One without only takes time.</remarks>
/// <param name="Id">The lesson or busy time.</param>
/// <param name="Kind">Lesson, busy or test.</param>
/// <param name="During">When; half-open, with both ends.</param>
/// <param name="PupilId">The pupil of a lesson or test.</param>
/// <param name="CarId">The car of a lesson or test.</param>
/// <param name="Begins">Where it begins (pick-up).</param>
/// <param name="Ends">Where it ends (drop-off).</param>
public sealed record DiaryEntry(
    Guid Id,
    EntryKind Kind,
    Interval During,
    Guid? PupilId,
    Guid? CarId,
    Coordinates? Begins,
    Coordinates? Ends)
{
    /// <summary>What a lesson is for.</summary>
    public LessonKind LessonKind { get; init; }

    /// <summary>Rests within a lesson, in order.</summary>
    public IReadOnlyList<LessonBreak> Breaks { get; init; } = [];

    /// <summary>How long the lesson is without its rests.</summary>
    internal Duration Taught
    {
        get
        {
            var taught = During.Duration;
            foreach (var rest in Breaks)
            {
                taught -= Duration.FromMinutes(rest.Minutes);
            }

            return taught;
        }
    }

    /// <summary>The stretches between its rests, in order; all of it where there are none.</summary>
    internal IEnumerable<Stretch> Stretches()
    {
        var at = During.Start;
        foreach (var rest in Breaks)
        {
            var begins = During.Start + Duration.FromMinutes(rest.After);
            yield return new(at, begins);
            at = begins + Duration.FromMinutes(rest.Minutes);
        }

        yield return new(at, During.End);
    }

    /// <summary>Whether drives lead to and from this entry.</summary>
    public bool IsPlaced => Begins is not null && Ends is not null;
}

/// <summary>Everything that decides what one instructor can still take on.</summary>
/// <param name="Instructor">The instructor.</param>
/// <param name="Hours">Recurring working hours.</param>
/// <param name="TimeOff">Time off; half-open, may be open-ended.</param>
/// <param name="Entries">Lessons, tests and busy times, in any order; cancelled ones left out.</param>
/// <param name="Holds">The cars held. Holds of other instructors are passed over.</param>
public sealed record InstructorDiary(
    InstructorFacts Instructor,
    IReadOnlyList<WorkingHours> Hours,
    IReadOnlyList<Interval> TimeOff,
    IReadOnlyList<DiaryEntry> Entries,
    IReadOnlyList<CarHold> Holds);

/// <summary>A period in which a car is taken by a lesson or test of anybody.</summary>
/// <param name="CarId">The car.</param>
/// <param name="LessonId">The lesson or test.</param>
/// <param name="During">When; half-open.</param>
public sealed record CarBusy(Guid CarId, Guid LessonId, Interval During);

/// <summary>What a search looks at: the school's rules and the diaries as they stand.</summary>
/// <param name="Rules">The school's settings; assumed valid.</param>
/// <param name="Zone">The school's time zone.</param>
/// <param name="Now">The present moment.</param>
/// <param name="Instructors">The instructors to look at.</param>
/// <param name="Cars">Their cars. A held car that is missing here is never offered.</param>
/// <param name="CarBusy">When cars are taken, by lessons of any instructor.</param>
public sealed record DiaryPicture(
    DiaryRules Rules,
    DateTimeZone Zone,
    Instant Now,
    IReadOnlyList<InstructorDiary> Instructors,
    IReadOnlyList<CarFacts> Cars,
    IReadOnlyList<CarBusy> CarBusy)
{
    /// <summary>The same as if one lesson were not booked.</summary>
    /// <param name="lessonId">The lesson.</param>
    public DiaryPicture Without(Guid lessonId) => this with
    {
        Instructors = [.. Instructors.Select(diary => diary with { Entries = [.. diary.Entries.Where(entry => entry.Id != lessonId)] })],
        CarBusy = [.. CarBusy.Where(busy => busy.LessonId != lessonId)],
    };
}
