using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Order;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Day;

/// <summary>A lesson with its names, and an instructor's day as the API tells it.</summary>
internal sealed class DiaryQueries(
    SchoolDb db, PictureLoader pictures, PupilBook pupils, InstructorBook instructors, CarPark cars, SchoolInfo school)
{
    public async Task<LessonView?> FindAsync(Guid lessonId, Viewer viewer, CancellationToken cancel)
    {
        var rows = await db.Set<Lesson>().AsNoTracking().VisibleTo(viewer).Where(l => l.Id == lessonId).ToListAsync(cancel);
        return await ViewsAsync(rows, cancel) is [var lesson] ? lesson : null;
    }

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
            picture.Rules)
        {
            Tests = await TestsAsync(route, cancel),
        };
    }

    private async Task<IReadOnlyList<DayTest>> TestsAsync(DayRoute route, CancellationToken cancel)
    {
        var stops = route.Stops.Where(s => s.Entry.Kind == EntryKind.Test).ToList();
        var ids = stops.ConvertAll(s => s.Entry.Id);
        var rows = await db.Set<TestDays.TestDay>().AsNoTracking().Where(t => ids.Contains(t.Id)).ToDictionaryAsync(t => t.Id, cancel);
        var names = await pupils.CardsAsync(rows.Values.Select(t => t.PupilId), cancel);
        return stops.ConvertAll(s => new DayTest(s, rows[s.Entry.Id], names[rows[s.Entry.Id].PupilId].Name));
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
                l.Id, l.Version, l.PupilId, names[l.PupilId].Name, names[l.PupilId].Phone, l.InstructorId, teachers[l.InstructorId].Name, teachers[l.InstructorId].Phone, l.CarId,
                labels[l.CarId], l.StartsAt, l.EndsAt, l.Minutes, l.State, l.PickUp, l.DropOff, l.CancelledBecause, l.Chargeable, l.MinutesTaught, l.Note)),
        ];
    }
}
