using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary;

/// <summary>One date of one instructor with everything that the pages show of it.</summary>
internal sealed record DaySheet(
    DiaryContext Context, InstructorCard Instructor, LocalDate Date, DayRoute Route, IReadOnlyList<Lesson> Lessons,
    IReadOnlyList<Interval> Working, IReadOnlyList<TimeOffRow> TimeOff, IReadOnlyList<Interval> Free)
{
    /// <summary>Lessons that were missed had been booked too.</summary>
    public int BookedMinutes => Lessons.Sum(l => l.Minutes);

    public int Missed => Lessons.Count(l => l.State is LessonState.Missed);

    public int TaughtMinutes => Lessons.Sum(l => l.MinutesTaught ?? 0);
}

/// <summary>What all days that were read together share.</summary>
internal sealed record DiaryContext(
    SchoolFacts School, DiaryRules Rules, Instant Now, IReadOnlyDictionary<Guid, PupilCard> Pupils, IReadOnlyDictionary<Guid, CarCard> Cars)
{
    public LocalDate Today => Now.InZone(School.Zone).Date;

    public string Times(Interval during) => ScreenTimes.Of(School, during);
}

/// <summary>Reads days of the diary for the pages of instructors and office, in a handful of queries whatever their number.</summary>
internal sealed class DayReader(SchoolDb db, PictureLoader pictures, PupilBook pupils, InstructorBook instructors, SchoolInfo school, Viewer viewer)
{
    /// <summary>The instructor whose diary was asked for, if it is the viewer's to see; their own when none is named.</summary>
    public async Task<InstructorCard?> WhoseAsync(Guid? asked, CancellationToken cancel) =>
        (asked ?? viewer.InstructorId) is { } id && viewer.KeepsDiaryOf(id) ? await instructors.FindAsync(id, cancel) : null;

    public async Task<IReadOnlyList<DaySheet>> DaysAsync(Guid instructorId, LocalDate from, LocalDate to, CancellationToken cancel) =>
        await ReadAsync(from, to, [instructorId], cancel);

    /// <summary>One date of everybody: who teaches now, and who left but taught on it.</summary>
    public async Task<IReadOnlyList<DaySheet>> EverybodyAsync(LocalDate date, CancellationToken cancel)
    {
        var days = await ReadAsync(date, date, null, cancel);
        return [.. days.Where(day => day.Instructor.RetiredOn is null || day.Lessons.Count > 0)];
    }

    private async Task<IReadOnlyList<DaySheet>> ReadAsync(LocalDate from, LocalDate to, IReadOnlyCollection<Guid>? only, CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        var ids = only ?? [.. (await instructors.ListAsync(alsoRetired: true, cancel)).Select(card => card.Id)];
        var loaded = await pictures.LoadAsync(from, to, ids, cancel);
        var (start, end) = (facts.Zone.AtStartOfDay(from).ToInstant(), facts.Zone.AtStartOfDay(to.PlusDays(1)).ToInstant());
        var earliest = start - Duration.FromMinutes(Lesson.LongestMinutes);
        var lessons = await db.Set<Lesson>().AsNoTracking()
            .Where(l => ids.Contains(l.InstructorId) && l.State != LessonState.Cancelled && l.StartsAt > earliest && l.StartsAt < end && l.EndsAt > start)
            .OrderBy(l => l.StartsAt).ToListAsync(cancel);
        var timeOff = await db.Set<TimeOffRow>().AsNoTracking()
            .Where(o => ids.Contains(o.InstructorId) && o.StartsAt < end && o.EndsAt > start).OrderBy(o => o.StartsAt).ToListAsync(cancel);
        var context = new DiaryContext(
            facts, loaded.Picture.Rules, loaded.Picture.Now, await pupils.CardsAsync(lessons.Select(l => l.PupilId), cancel), loaded.Cars);
        return
        [
            .. loaded.Instructors.Values.OrderBy(card => card.Name, StringComparer.CurrentCultureIgnoreCase).SelectMany(
                card => Enumerable.Range(0, Period.DaysBetween(from, to) + 1).Select(
                    n => Day(context, loaded, card, from.PlusDays(n), lessons, timeOff))),
        ];
    }

    private static DaySheet Day(
        DiaryContext context, LoadedPicture loaded, InstructorCard instructor, LocalDate date, List<Lesson> lessons, List<TimeOffRow> timeOff)
    {
        var zone = context.School.Zone;
        var day = new Interval(zone.AtStartOfDay(date).ToInstant(), zone.AtStartOfDay(date.PlusDays(1)).ToInstant());
        var diary = loaded.DiaryOf(instructor.Id)!;
        var route = DayRoute.Build(context.Rules, zone, diary, date, loaded.Travel);
        var working = diary.Hours.Where(hours => hours.AppliesOn(date)).Select(hours => hours.During(date, zone)).OrderBy(span => span.Start).ToList();
        var off = timeOff.Where(row => row.InstructorId == instructor.Id && row.StartsAt < day.End && row.EndsAt > day.Start).ToList();
        var free = OpenTime.Of(working, [.. off.Select(row => new Interval(row.StartsAt, row.EndsAt)), .. route.Stops.Select(stop => Taken(stop, context.Rules))]);
        var shortest = Duration.FromMinutes(context.Rules.LessonMinutes.Min());
        var ahead = free.Where(gap => gap.End > context.Now).Select(gap => OpenTime.Rounded(new(Instant.Min(Instant.Max(gap.Start, context.Now), gap.End), gap.End)));
        return new(
            context, instructor, date, route,
            [.. lessons.Where(l => l.InstructorId == instructor.Id && l.StartsAt < day.End && l.EndsAt > day.Start)],
            working, off, [.. ahead.Where(gap => gap.Duration >= shortest)]);
    }

    // The drive to a stop and the minutes kept beside it are no free time either.
    private static Interval Taken(RouteStop stop, DiaryRules rules) =>
        new(stop.Entry.During.Start - Duration.FromMinutes(stop.Leg.Minutes + rules.BufferMinutes), stop.Entry.During.End);
}

/// <summary>What is left of some periods.</summary>
internal static class OpenTime
{
    /// <summary>The periods without those that are taken, in order; periods that touch are one.</summary>
    public static IReadOnlyList<Interval> Of(IEnumerable<Interval> periods, IEnumerable<Interval> taken)
    {
        var free = new List<Interval>();
        foreach (var period in periods.OrderBy(p => p.Start))
        {
            if (free.Count > 0 && period.Start <= free[^1].End)
            {
                free[^1] = new(free[^1].Start, Instant.Max(free[^1].End, period.End));
            }
            else
            {
                free.Add(period);
            }
        }

        return [.. taken.Aggregate(free, (left, gone) => [.. left.SelectMany(period => Without(period, gone))])];
    }

    /// <summary>Within the period, on whole five minutes: nobody books to the minute.</summary>
    public static Interval Rounded(Interval period)
    {
        const long Step = 5 * NodaConstants.SecondsPerMinute;
        var from = (period.Start.ToUnixTimeSeconds() + Step - 1) / Step * Step;
        var to = period.End.ToUnixTimeSeconds() / Step * Step;
        return new(Instant.FromUnixTimeSeconds(from), Instant.FromUnixTimeSeconds(Math.Max(from, to)));
    }

    private static IEnumerable<Interval> Without(Interval period, Interval gone)
    {
        if (gone.Start >= period.End || gone.End <= period.Start)
        {
            return [period];
        }

        var before = new Interval(period.Start, Instant.Max(period.Start, gone.Start));
        var after = new Interval(Instant.Min(period.End, gone.End), period.End);
        return new[] { before, after }.Where(part => part.Duration > Duration.Zero);
    }
}
