using NodaTime;
using School.Core.Diary.Slots;
using School.Core.Diary.Time;
using School.Core.Travel;

namespace School.Core.Diary.Cover;

/// <summary>Finds who takes over lessons that cannot take place as booked.</summary>
/// <remarks>
/// The least of <see cref="CoverCost"/> over all ways to give the lessons to the instructors of the picture, each at its own time
/// or at a start of the grid inside its pupil's windows on the same date, so that every diary keeps the rules of
/// <see cref="SlotSearch"/> without grid, length, notice and horizon. Dates do not depend on each other: a lesson stays on its date,
/// so the pupil's week stays what it was. Of one date, <see cref="CoverColumns"/> finds what each instructor can take and at what cost,
/// and <see cref="CoverDay"/> chooses one set for each so that every lesson is taken at most once.
/// </remarks>
public static class CoverSearch
{
    /// <summary>The most lessons to cover on one date. Nobody teaches half as many.</summary>
    public const int MostLessonsADay = 20;

    /// <summary>The best proposal.</summary>
    /// <param name="problem">What to cover and who may.</param>
    /// <param name="travel">Travel times.</param>
    /// <param name="progress">Told after each diary.</param>
    /// <param name="giveUp">When this is cancelled the best proposal so far is returned with a bound below its cost.</param>
    /// <exception cref="ArgumentException">Too many lessons on one date.</exception>
    public static CoverProposal Propose(
        CoverProblem problem, ITravelTimes travel, IProgress<CoverProgress>? progress = null, CancellationToken giveUp = default)
    {
        ArgumentNullException.ThrowIfNull(problem);
        var days = problem.Lessons.GroupBy(lesson => lesson.During.Start.InZone(problem.Picture.Zone).Date).OrderBy(day => day.Key).ToList();
        if (days.Exists(day => day.Count() > MostLessonsADay))
        {
            throw new ArgumentException($"At most {MostLessonsADay} lessons of one date can be covered.", nameof(problem));
        }

        var picture = Lifted(problem);
        var legs = new Legs(travel, picture.Zone);
        var (cost, bound) = (default(CoverCost), default(CoverCost));
        var places = new Dictionary<Guid, CoverPlace>();
        var step = new CoverSteps(progress, days.Count * picture.Instructors.Count * CoverDay.Rounds, giveUp);
        foreach (var lessons in days)
        {
            var day = new CoverDay(picture, lessons.Key, [.. lessons.Select(lesson => Lifted(lesson, problem.Lessons))], legs, step);
            var solution = day.Solve();
            cost += CoverUnits.Read(solution.Cost);
            bound += CoverUnits.Read(solution.Bound);
            foreach (var (id, place) in solution.Places)
            {
                places[id] = place;
            }
        }
        return new(Lines(problem, picture, places, travel), cost, bound);
    }

    private static DiaryPicture Lifted(CoverProblem problem)
    {
        var ids = problem.Lessons.Select(lesson => lesson.Id).ToHashSet();
        return problem.Picture with
        {
            Instructors = [.. problem.Picture.Instructors.Select(diary => diary with
            {
                Entries = [.. diary.Entries.Where(entry => !ids.Contains(entry.Id))],
            })],
            CarBusy = [.. problem.Picture.CarBusy.Where(busy => !ids.Contains(busy.LessonId))],
        };
    }

    // What the pupil has besides; the lessons to cover keep their week, so they are counted where they stand.
    private static CoverLesson Lifted(CoverLesson lesson, IReadOnlyList<CoverLesson> all) => lesson with
    {
        Pupil = lesson.Pupil with
        {
            Lessons = [.. lesson.Pupil.Lessons.Where(own => own.Id != lesson.Id && !all.Any(other => other.Id == own.Id))],
        },
    };

    private static List<CoverLine> Lines(
        CoverProblem problem, DiaryPicture lifted, Dictionary<Guid, CoverPlace> places, ITravelTimes travel)
    {
        var picture = With(problem, lifted, places);
        return [.. problem.Lessons.Select(lesson => places.TryGetValue(lesson.Id, out var place)
            ? new CoverLine(lesson.Id, place, [])
            : new CoverLine(lesson.Id, null, WhyNot(lesson, Wish(lesson, problem, places), picture, travel)))];
    }

    private static List<CoverObstacle> WhyNot(CoverLesson lesson, LessonWish wish, DiaryPicture picture, ITravelTimes travel)
    {
        var obstacles = new List<CoverObstacle>();
        foreach (var diary in picture.Instructors)
        {
            if (SlotSearch.Check(picture, wish, diary.Instructor.Id, lesson.During.Start, travel).Refusal is { } refusal)
            {
                obstacles.Add(new(diary.Instructor.Id, refusal));
            }
        }
        return obstacles;
    }

    private static LessonWish Wish(CoverLesson lesson, CoverProblem problem, Dictionary<Guid, CoverPlace> places)
    {
        var others = lesson.Pupil.Lessons.Where(own => own.Id != lesson.Id).Select(own => places.TryGetValue(own.Id, out var place)
            ? own with { During = new(place.Start, place.Start + own.During.Duration) }
            : own);
        var date = lesson.During.Start.InZone(problem.Picture.Zone).Date;
        return new(
            lesson.Pupil with { Lessons = [.. others] }, lesson.During.Duration.WholeMinutes() - lesson.BreakMinutes, lesson.PickUp, lesson.DropOff, date, date,
            lesson.Id, NoticeApplies: false, AnyStart: true, lesson.Kind)
        { KeptBreaks = lesson.Breaks, PickUpAreaId = lesson.PickUpAreaId };
    }

    private static DiaryPicture With(CoverProblem problem, DiaryPicture lifted, Dictionary<Guid, CoverPlace> places)
    {
        var taken = problem.Lessons.Where(lesson => places.ContainsKey(lesson.Id)).Select(lesson =>
        {
            var place = places[lesson.Id];
            return (place.InstructorId, Entry: new DiaryEntry(
                lesson.Id, EntryKind.Lesson, new(place.Start, place.Start + lesson.During.Duration), lesson.Pupil.Id, place.CarId,
                lesson.PickUp, lesson.DropOff)
            { LessonKind = lesson.Kind, Breaks = lesson.Breaks });
        }).ToList();
        return lifted with
        {
            Instructors = [.. lifted.Instructors.Select(diary => diary with
            {
                Entries = [.. diary.Entries, .. taken.Where(t => t.InstructorId == diary.Instructor.Id).Select(t => t.Entry)],
            })],
            CarBusy = [.. lifted.CarBusy, .. taken.Select(t => new CarBusy(t.Entry.CarId!.Value, t.Entry.Id, t.Entry.During))],
        };
    }
}

/// <summary>Counts the diaries gone through and says when to stop.</summary>
internal sealed class CoverSteps(IProgress<CoverProgress>? progress, int of, CancellationToken giveUp)
{
    private int done;

    public bool GivenUp => giveUp.IsCancellationRequested;

    public void Done() => progress?.Report(new(Math.Min(++done, of), of));
}

/// <summary><see cref="CoverCost"/> of one date in one number, so that labels compare and add by one operation.</summary>
/// <remarks>From the right: 20 bits of driving, 6 of instructors changed, 16 of minutes moved, 6 of times moved, 6 of lessons
/// uncovered. At most 20 lessons of at most 24 hours make sure that nothing runs over.</remarks>
internal static class CoverUnits
{
    public const long Driving = 1;
    public const long Changed = 1L << 20;
    public const long MinutesMoved = 1L << 26;
    public const long Moved = 1L << 42;
    public const long Uncovered = 1L << 48;

    public static long WithoutDriving(long cost) => cost & ~(Changed - 1);

    public static CoverCost Read(long cost) => new(
        (int)(cost / Uncovered),
        (int)(cost % Uncovered / Moved),
        (int)(cost % Moved / MinutesMoved),
        (int)(cost % MinutesMoved / Changed),
        (int)(cost % Changed));
}
