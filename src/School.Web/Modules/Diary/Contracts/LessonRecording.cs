using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Contracts;

/// <summary>A lesson as its brief and its record need it, in the version that was read.</summary>
internal sealed record LessonSheet(
    Guid Id, int Version, int Sequence, Guid PupilId, Guid InstructorId, Guid CarId, Instant StartsAt, Instant EndsAt, LessonState State,
    Place PickUp, Place DropOff, int? MinutesTaught, string Note)
{
    /// <summary>No lesson is longer, so no more can have been taught.</summary>
    public const int LongestMinutes = Lesson.LongestMinutes;

    /// <summary>As the API tells it.</summary>
    public required Func<Viewer, LessonJson> ToJson { get; init; }

    public Interval During => new(StartsAt, EndsAt);

    /// <summary>Minutes of teaching.</summary>
    public required int Minutes { get; init; }

    public required LessonKind Kind { get; init; }

    /// <summary>When it was booked.</summary>
    public required Instant BookedAt { get; init; }

    /// <summary>The rests within it, in order.</summary>
    public required IReadOnlyList<LessonBreak> Breaks { get; init; }

    /// <summary>The rests as moments.</summary>
    public IEnumerable<Interval> Rests() => Breaks.Select(rest => rest.During(StartsAt));

    /// <summary>The page of the day that the lesson stands on.</summary>
    public string DayAddress(DateTimeZone zone, Viewer viewer) => LessonLinks.Day(InstructorId, StartsAt, zone, viewer);
}

/// <summary>What the lesson itself keeps of its record: minutes, the sentence for the pupil and the state, under the lesson's version.</summary>
internal sealed class LessonRecording(SchoolDb db, ChangeLessons changes, LessonHistory history, PictureLoader pictures, IClock clock)
{
    /// <summary>What the school calls a kind of lesson; null for a lesson like any other.</summary>
    public async Task<string?> KindNameAsync(LessonKind kind, CancellationToken cancel) =>
        kind == LessonKind.Standard ? null : (await pictures.RulesAsync(cancel)).NameOf(kind);

    /// <summary>The lesson if the viewer may see it.</summary>
    public async Task<LessonSheet?> FindAsync(Guid id, Viewer viewer, CancellationToken cancel) =>
        await db.Set<Lesson>().AsNoTracking().VisibleTo(viewer).SingleOrDefaultAsync(l => l.Id == id, cancel) is { } lesson ? Sheet(lesson) : null;

    /// <summary>Any lesson of the school, for those who may read them all.</summary>
    public async Task<LessonSheet?> OfSchoolAsync(Guid id, CancellationToken cancel) =>
        await db.Set<Lesson>().AsNoTracking().SingleOrDefaultAsync(l => l.Id == id, cancel) is { } lesson ? Sheet(lesson) : null;

    /// <summary>
    /// Writes the lesson down as taught, in the caller's transaction. The version rises even where the lesson says what it said
    /// before, so that it is the version of all that is kept about the lesson; and it is written at once, so that whoever comes
    /// second finds it risen.
    /// </summary>
    public async Task<Outcome<LessonSheet>> ApplyAsync(Guid id, int minutesTaught, string note, int? expectedVersion, Viewer viewer, CancellationToken cancel)
    {
        var taken = await db.Set<Lesson>().KeptBy(viewer).TakeAsync(id, expectedVersion, "lesson", cancel);
        if (taken is not { Ok: true, Value: { } lesson })
        {
            return taken.Refusal!;
        }

        var before = lesson.MinutesTaught is { } minutes ? $" Before: {minutes} minutes. {lesson.Note}" : "";
        var wasMissed = lesson.State is LessonState.Missed;
        if (lesson.Record(minutesTaught, note, clock.GetCurrentInstant()) is { } refusal)
        {
            return refusal;
        }

        if (wasMissed)
        {
            await changes.TakeBackAsync(viewer, lesson, cancel);
        }

        lesson.Touch();
        history.Note(lesson, ChangeKind.Recorded, $"Taught, {minutesTaught} minutes.{before}".TrimEnd(), viewer);
        await db.SaveChangesAsync(cancel);
        await changes.TaughtAsync(viewer, lesson, cancel);
        return Sheet(lesson);
    }

    /// <summary>The instructor's next booked lesson after this one, if it begins before a moment.</summary>
    public async Task<LessonSheet?> NextAsync(LessonSheet after, Instant before, CancellationToken cancel) =>
        await db.Set<Lesson>().AsNoTracking()
            .Where(l => l.InstructorId == after.InstructorId && l.State == LessonState.Booked && l.StartsAt >= after.EndsAt && l.StartsAt < before)
            .OrderBy(l => l.StartsAt).FirstOrDefaultAsync(cancel) is { } lesson ? Sheet(lesson) : null;

    /// <summary>The pupil's next booked lesson after a moment.</summary>
    public async Task<LessonSheet?> NextOfPupilAsync(Guid pupilId, Instant after, CancellationToken cancel) =>
        await db.Set<Lesson>().AsNoTracking().Where(l => l.PupilId == pupilId && l.State == LessonState.Booked && l.StartsAt > after)
            .OrderBy(l => l.StartsAt).FirstOrDefaultAsync(cancel) is { } lesson ? Sheet(lesson) : null;

    /// <summary>The booked lesson of a pupil or an instructor that is on at a moment; the pupil's first.</summary>
    public async Task<Guid?> RunningAsync(Guid pupilId, Guid? instructorId, Instant at, CancellationToken cancel)
    {
        var earliest = at - Lesson.Longest;
        return await db.Set<Lesson>().AsNoTracking()
            .Where(l => l.State == LessonState.Booked && l.StartsAt > earliest && l.StartsAt <= at && l.EndsAt > at && (l.PupilId == pupilId || l.InstructorId == instructorId))
            .OrderByDescending(l => l.PupilId == pupilId).ThenBy(l => l.Id).Select(l => (Guid?)l.Id).FirstOrDefaultAsync(cancel);
    }

    /// <summary>Booked lessons that begin in a period, by start.</summary>
    public async Task<IReadOnlyList<LessonSheet>> BookedAsync(Interval period, CancellationToken cancel)
    {
        var (from, until) = (period.Start, period.End);
        var rows = await db.Set<Lesson>().AsNoTracking().Where(l => l.State == LessonState.Booked && l.StartsAt >= from && l.StartsAt < until)
            .OrderBy(l => l.StartsAt).ThenBy(l => l.Id).ToListAsync(cancel);
        return rows.ConvertAll(Sheet);
    }

    private static LessonSheet Sheet(Lesson lesson) => new(
        lesson.Id, lesson.Version, lesson.Sequence, lesson.PupilId, lesson.InstructorId, lesson.CarId, lesson.StartsAt, lesson.EndsAt, lesson.State,
        lesson.PickUp, lesson.DropOff, lesson.MinutesTaught, lesson.Note)
    {
        Minutes = lesson.Minutes,
        Kind = lesson.Kind,
        BookedAt = lesson.BookedAt,
        Breaks = lesson.Breaks,
        ToJson = reader => LessonJson.Of(lesson, reader),
    };
}
