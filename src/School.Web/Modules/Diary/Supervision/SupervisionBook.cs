using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Time;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Supervision;

/// <summary>A lesson that was given.</summary>
internal sealed record GivenLesson(Instant Start, int Minutes);

/// <summary>A day on which lessons were given, or somebody sat in.</summary>
internal sealed record TraineeDay(LocalDate Date, IReadOnlyList<GivenLesson> Lessons, IReadOnlyList<SupervisedDay> Supervised)
{
    public int Given => Lessons.Sum(lesson => lesson.Minutes);

    /// <summary>Of everybody who sat in together.</summary>
    public int SatIn => Supervised.Sum(one => one.Minutes);

    /// <summary>A lesson was put right since, so that less was given than somebody sat in on.</summary>
    public bool IsTooMuch => SatIn > Given;
}

/// <summary>A trainee's daily record under option 1; unless another period is asked for, from the first day of the licence on.</summary>
internal sealed record SupervisionRecord(InstructorCard Trainee, LocalDate From, LocalDate Until, IReadOnlyList<TraineeDay> Days)
{
    /// <summary>The first and the last day entered of all, in the period or not.</summary>
    public LocalDate? EnteredFrom { get; init; }

    public LocalDate? EnteredTo { get; init; }

    /// <summary>Days are entered that this period leaves out, such as those of an earlier licence.</summary>
    public bool LeavesOut => EnteredFrom < From || EnteredTo > Until;

    public int Given => Days.Sum(day => day.Given);

    /// <summary>No more counts of a day than was given on it.</summary>
    public int Supervised => Days.Sum(day => Math.Min(day.SatIn, day.Given));

    public int Needed => TraineeShare.Needed(Given);

    public bool IsEnough => TraineeShare.IsEnough(Given, Supervised);

    public double Share => TraineeShare.Of(Given, Supervised);
}

/// <summary>Reads a trainee's daily record: what was given comes from the diary, how long somebody sat in was entered.</summary>
internal sealed class SupervisionBook(SchoolDb db, SchoolInfo school, IClock clock)
{
    /// <summary>Whether the law asks for the record: SI 2005/1902 regulation 15(2).</summary>
    public static bool IsKeptOf(InstructorCard card) => card is { Facts.Kind: RegistrationKind.Trainee, Option: TraineeOption.Supervision, Facts.RegisteredFrom: not null };

    /// <summary>The record of a period. Null where none is kept and no day was ever entered; what was entered is shown whatever became of the licence.</summary>
    /// <param name="trainee">Whose record.</param>
    /// <param name="first">The first day; null for that of the licence, or of what was entered.</param>
    /// <param name="last">The last day; null for that of the licence, today at the latest, or of what was entered.</param>
    /// <param name="cancel">Ends the reading.</param>
    public async Task<SupervisionRecord?> ReadAsync(InstructorCard trainee, LocalDate? first, LocalDate? last, CancellationToken cancel)
    {
        var entered = await db.Set<SupervisedDay>().AsNoTracking().Where(d => d.InstructorId == trainee.Id).OrderBy(d => d.Date).ThenBy(d => d.Id).ToListAsync(cancel);
        if (!IsKeptOf(trainee) && entered.Count == 0)
        {
            return null;
        }

        var (facts, now) = (await school.GetAsync(cancel), clock.GetCurrentInstant());
        var usual = IsKeptOf(trainee) ? OfLicence(trainee, facts.Today(clock)) : (From: entered[0].Date, Until: entered[^1].Date);
        var from = first ?? LocalDate.Min(usual.From, last ?? usual.From);
        var until = last ?? LocalDate.Max(usual.Until, from);
        var given = (await LessonsAsync(trainee.Id, from, until, facts.Zone, now, cancel)).ToLookup(lesson => lesson.Start.InZone(facts.Zone).Date);
        var supervised = entered.Where(d => d.Date >= from && d.Date <= until).ToLookup(d => d.Date);
        return new(trainee, from, until,
        [
            .. given.Select(day => day.Key).Union(supervised.Select(day => day.Key)).Order().Select(date => new TraineeDay(date, [.. given[date]], [.. supervised[date]])),
        ])
        { EnteredFrom = entered.FirstOrDefault()?.Date, EnteredTo = entered.LastOrDefault()?.Date };
    }

    /// <summary>Everybody with a day entered, whatever they are today.</summary>
    public async Task<IReadOnlyList<Guid>> WithDaysAsync(CancellationToken cancel) =>
        await db.Set<SupervisedDay>().Select(d => d.InstructorId).Distinct().ToListAsync(cancel);

    // A last day still to be asked ends nothing.
    private static (LocalDate From, LocalDate Until) OfLicence(InstructorCard trainee, LocalDate today) => (
        trainee.Facts.RegisteredFrom!.Value,
        trainee.RegisteredTo is { } last && !(trainee.Facts.AppliedAgainOn <= last) ? LocalDate.Min(today, last) : today);

    /// <summary>Minutes of lessons given on a date so far.</summary>
    public async Task<int> GivenOnAsync(Guid trainee, LocalDate date, CancellationToken cancel)
    {
        var zone = (await school.GetAsync(cancel)).Zone;
        return (await LessonsAsync(trainee, date, date, zone, clock.GetCurrentInstant(), cancel)).Sum(lesson => lesson.Minutes);
    }

    /// <summary>
    /// What in the diary of whoever sat in leaves less of the trainee's lessons than they are said to have sat in on; null where enough is left.
    /// When on the day they did is not kept, so all of it counts in which they had nothing of their own.
    /// </summary>
    public async Task<string?> ElsewhereAsync(Guid trainee, Guid by, string name, LocalDate date, int minutes, CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        var now = clock.GetCurrentInstant();
        var (start, end) = (facts.Zone.AtStartOfDay(date).ToInstant(), facts.Zone.AtStartOfDay(date.PlusDays(1)).ToInstant());
        var both = await db.Set<Lesson>().AsNoTracking()
            .Where(l => (l.InstructorId == trainee || l.InstructorId == by) && l.StartsAt >= start && l.StartsAt < end
                && (l.State == LessonState.Taught || (l.State == LessonState.Booked && l.EndsAt <= now)))
            .OrderBy(l => l.StartsAt).ToListAsync(cancel);
        var tests = await db.Set<TestDay>().AsNoTracking()
            .Where(t => t.InstructorId == by && t.State != TestDayState.TakenOff && t.StartsAt >= start && t.StartsAt < end).OrderBy(t => t.StartsAt).ToListAsync(cancel);
        var own = both.Where(l => l.InstructorId == by).Select(l => (l.During, What: "a lesson")).Concat(tests.Select(t => (t.During, What: "a test"))).ToList();
        var given = both.FindAll(l => l.InstructorId == trainee);
        var free = given.Sum(l => Math.Min(l.MinutesTaught ?? l.Minutes, (int)(l.During.Duration - own.Aggregate(Duration.Zero, (sum, one) => sum + Shared(l.During, one.During))).TotalMinutes));
        return minutes > Math.Max(free, 0) && own.Find(one => given.Exists(l => Shared(l.During, one.During) > Duration.Zero)) is { What: { } what } clash
            ? $"{name} has {what} of their own {facts.When(clash.During)}, while the trainee taught." : null;
    }

    private static Duration Shared(Interval one, Interval other) =>
        Duration.Max(Duration.Zero, Instant.Min(one.End, other.End) - Instant.Max(one.Start, other.Start));

    private async Task<List<GivenLesson>> LessonsAsync(Guid trainee, LocalDate from, LocalDate until, DateTimeZone zone, Instant now, CancellationToken cancel)
    {
        var (start, end) = (zone.AtStartOfDay(from).ToInstant(), zone.AtStartOfDay(until.PlusDays(1)).ToInstant());
        var rows = await db.Set<Lesson>().AsNoTracking()
            .Where(l => l.InstructorId == trainee && l.StartsAt >= start && l.StartsAt < end
                && (l.State == LessonState.Taught || (l.State == LessonState.Booked && l.EndsAt <= now)))
            .OrderBy(l => l.StartsAt).ToListAsync(cancel);
        return rows.ConvertAll(lesson => new GivenLesson(lesson.StartsAt, lesson.MinutesTaught ?? lesson.Minutes));
    }
}
