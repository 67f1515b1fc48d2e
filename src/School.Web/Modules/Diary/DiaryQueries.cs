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

/// <summary>What the pages of the diary show.</summary>
internal sealed class DiaryQueries(
    SchoolDb db, PictureLoader pictures, PupilBook pupils, InstructorBook instructors, CarPark cars, SchoolInfo school, IClock clock)
{
    private const int DaysOfWeek = 7;

    /// <summary>The booked lesson that is on or comes next.</summary>
    public async Task<LessonView?> NextLessonAsync(Guid pupilId, CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        var rows = await db.Set<Lesson>().AsNoTracking()
            .Where(l => l.PupilId == pupilId && l.State == LessonState.Booked && l.EndsAt > now).OrderBy(l => l.StartsAt).Take(1).ToListAsync(cancel);
        return await ViewsAsync(rows, cancel) is [var next] ? next : null;
    }

    /// <summary>All lessons of a pupil that the viewer may see, latest first.</summary>
    public async Task<IReadOnlyList<LessonView>> LessonsOfPupilAsync(Guid pupilId, Viewer viewer, CancellationToken cancel) =>
        await ViewsAsync(
            await db.Set<Lesson>().AsNoTracking().VisibleTo(viewer).Where(l => l.PupilId == pupilId).OrderByDescending(l => l.StartsAt).ToListAsync(cancel), cancel);

    public async Task<LessonView?> FindAsync(Guid lessonId, Viewer viewer, CancellationToken cancel)
    {
        var rows = await db.Set<Lesson>().AsNoTracking().VisibleTo(viewer).Where(l => l.Id == lessonId).ToListAsync(cancel);
        return await ViewsAsync(rows, cancel) is [var lesson] ? lesson : null;
    }

    public async Task<IReadOnlyList<LessonChange>> HistoryAsync(Guid lessonId, Viewer viewer, CancellationToken cancel) =>
        await db.Set<LessonChange>().AsNoTracking()
            .Where(c => c.LessonId == lessonId && db.Set<Lesson>().VisibleTo(viewer).Any(l => l.Id == lessonId))
            .OrderBy(c => c.At).ThenBy(c => c.Id).ToListAsync(cancel);

    /// <summary>The day on the road; null when there is no such instructor or the day is not the viewer's to see.</summary>
    public async Task<DayDetail?> DayAsync(Guid instructorId, LocalDate date, Viewer viewer, CancellationToken cancel)
    {
        if (!viewer.KeepsDiaryOf(instructorId))
        {
            return null;
        }

        var loaded = await pictures.LoadAsync(date, date, [instructorId], cancel);
        if (loaded.DiaryOf(instructorId) is not { } diary)
        {
            return null;
        }

        var (picture, card) = (loaded.Picture, loaded.Instructors[instructorId]);
        var route = DayRoute.Build(picture.Rules, picture.Zone, diary, date, loaded.Travel);
        var stops = await StopsAsync(route, cancel);
        return new(
            instructorId, card.Name, card.Base, date, route, stops, [.. diary.Hours.Where(h => h.AppliesOn(date)).OrderBy(h => h.Start)], diary.TimeOff,
            picture.Rules);
    }

    /// <summary>Seven days from a date; null when the diary is not the viewer's to see.</summary>
    public async Task<IReadOnlyList<DayColumn>?> WeekAsync(Guid instructorId, LocalDate from, Viewer viewer, CancellationToken cancel)
    {
        if (!viewer.KeepsDiaryOf(instructorId))
        {
            return null;
        }

        var to = from.PlusDays(DaysOfWeek - 1);
        var loaded = await pictures.LoadAsync(from, to, [instructorId], cancel);
        var lessons = await LessonsAsync(loaded, from, to, l => l.InstructorId == instructorId, cancel);
        return loaded.DiaryOf(instructorId) is { } diary
            ? [.. Enumerable.Range(0, DaysOfWeek).Select(day => Column(loaded, diary, from.PlusDays(day), lessons))]
            : null;
    }

    /// <summary>Every instructor's day, side by side.</summary>
    public async Task<IReadOnlyList<DayColumn>> BoardAsync(LocalDate date, CancellationToken cancel)
    {
        var loaded = await pictures.LoadAsync(date, date, null, cancel);
        var lessons = await LessonsAsync(loaded, date, date, _ => true, cancel);
        return [.. loaded.Picture.Instructors.Select(diary => Column(loaded, diary, date, lessons))];
    }

    private static DayColumn Column(LoadedPicture loaded, InstructorDiary diary, LocalDate date, IReadOnlyList<LessonView> lessons)
    {
        var (picture, id) = (loaded.Picture, diary.Instructor.Id);
        var day = new Interval(picture.Zone.AtStartOfDay(date).ToInstant(), picture.Zone.AtStartOfDay(date.PlusDays(1)).ToInstant());
        var route = DayRoute.Build(picture.Rules, picture.Zone, diary, date, loaded.Travel);
        return new(
            id, loaded.Instructors[id].Name, date,
            [.. lessons.Where(l => l.InstructorId == id && day.Contains(l.StartsAt))],
            [.. diary.Hours.Where(h => h.AppliesOn(date)).OrderBy(h => h.Start)],
            [.. diary.TimeOff.Where(off => off.Start < day.End && off.End > day.Start)],
            route.TaughtMinutes, route.DrivingMinutes, route.Miles);
    }

    /// <summary>Lessons that start between the dates, cancelled ones left out.</summary>
    private async Task<IReadOnlyList<LessonView>> LessonsAsync(
        LoadedPicture loaded, LocalDate from, LocalDate to, System.Linq.Expressions.Expression<Func<Lesson, bool>> which, CancellationToken cancel)
    {
        var zone = loaded.Picture.Zone;
        var (start, end) = (zone.AtStartOfDay(from).ToInstant(), zone.AtStartOfDay(to.PlusDays(1)).ToInstant());
        return await ViewsAsync(
            await db.Set<Lesson>().AsNoTracking().Where(which)
                .Where(l => l.State != LessonState.Cancelled && l.StartsAt >= start && l.StartsAt < end).OrderBy(l => l.StartsAt).ToListAsync(cancel),
            cancel);
    }

    private async Task<IReadOnlyList<DayStop>> StopsAsync(DayRoute route, CancellationToken cancel)
    {
        var ids = route.Stops.Where(s => s.Entry.Kind == EntryKind.Lesson).Select(s => s.Entry.Id).ToArray();
        var rows = await db.Set<Lesson>().AsNoTracking().Where(l => ids.Contains(l.Id)).ToListAsync(cancel);
        var views = (await ViewsAsync(rows, cancel)).ToDictionary(v => v.Id);
        var cards = await pupils.CardsAsync(rows.Select(l => l.PupilId), cancel);
        var pupilIds = cards.Keys.ToArray();
        var taught = (await db.Set<Lesson>().AsNoTracking().Where(l => pupilIds.Contains(l.PupilId) && l.State == LessonState.Taught)
            .GroupBy(l => l.PupilId)
            .Select(g => new { PupilId = g.Key, First = g.Min(l => l.StartsAt), Last = g.OrderByDescending(l => l.StartsAt).Select(l => l.Note).First() })
            .ToListAsync(cancel)).ToDictionary(t => t.PupilId);
        return
        [
            .. from stop in route.Stops
               where views.ContainsKey(stop.Entry.Id)
               let lesson = views[stop.Entry.Id]
               let before = taught.GetValueOrDefault(lesson.PupilId)
               select new DayStop(stop, lesson, cards[lesson.PupilId], before?.Last ?? "", before is null || before.First >= lesson.StartsAt),
        ];
    }

    private async Task<IReadOnlyList<LessonView>> ViewsAsync(List<Lesson> rows, CancellationToken cancel)
    {
        if (rows.Count == 0)
        {
            return [];
        }

        var names = await pupils.CardsAsync(rows.Select(l => l.PupilId), cancel);
        var teachers = (await instructors.ListAsync(alsoRetired: true, cancel)).ToDictionary(i => i.Id);
        var labels = (await cars.ReadAsync((await school.GetAsync(cancel)).Zone, alsoRetired: true, cancel)).Cars.ToDictionary(c => c.Id, c => c.Label);
        return
        [
            .. rows.Select(l => new LessonView(
                l.Id, l.Version, l.PupilId, names[l.PupilId].Name, l.InstructorId, teachers[l.InstructorId].Name, teachers[l.InstructorId].Phone, l.CarId,
                labels[l.CarId], l.StartsAt, l.EndsAt, l.Minutes, l.State, l.PickUp, l.DropOff, l.CancelledBecause, l.Chargeable, l.ChargePolicy,
                l.MinutesTaught, l.Note)),
        ];
    }
}
