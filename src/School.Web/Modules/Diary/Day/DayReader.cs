using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Order;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Hours;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Day;

/// <summary>Reads days of the diary for the pages of instructors and office, in a handful of queries whatever their number.</summary>
internal sealed class DayReader(SchoolDb db, PictureLoader pictures, PupilBook pupils, OwnPupils own, InstructorBook instructors, SchoolInfo school, PastPlaces past, Viewer viewer)
{
    /// <summary>The instructor whose diary was asked for, if it is the viewer's to see; their own when none is named.</summary>
    public async Task<InstructorCard?> WhoseAsync(Guid? asked, CancellationToken cancel) =>
        (asked ?? viewer.InstructorId) is { } id && viewer.KeepsDiaryOf(id) ? await instructors.FindAsync(id, cancel) : null;

    /// <summary>The same where days are read next: with all that a day needs whatever its date.</summary>
    public async Task<InstructorCard?> WhoseDayAsync(Guid? asked, CancellationToken cancel)
    {
        if ((asked ?? viewer.InstructorId) is not { } id || !viewer.KeepsDiaryOf(id))
        {
            return null;
        }

        await pictures.AheadAsync(cancel);
        return (await instructors.ListAsync(alsoRetired: true, cancel)).FirstOrDefault(card => card.Id == id);
    }

    public async Task<IReadOnlyList<DaySheet>> DaysAsync(Guid instructorId, LocalDate from, LocalDate to, CancellationToken cancel) =>
        await ReadAsync(from, to, [instructorId], cancel);

    /// <summary>One date of everybody: who teaches now, and who left but taught on it.</summary>
    /// <param name="date">The date.</param>
    /// <param name="only">These instructors; everybody when null.</param>
    /// <param name="cancel">Cancels.</param>
    public async Task<IReadOnlyList<DaySheet>> EverybodyAsync(LocalDate date, IReadOnlyCollection<Guid>? only, CancellationToken cancel)
    {
        var days = await ReadAsync(date, date, only, cancel);
        return [.. days.Where(day => day.Instructor.RetiredOn is null || day.Lessons.Count + day.Tests.Count > 0)];
    }

    private async Task<IReadOnlyList<DaySheet>> ReadAsync(LocalDate from, LocalDate to, IReadOnlyCollection<Guid>? only, CancellationToken cancel)
    {
        await pictures.AheadAsync(cancel);
        var facts = await school.GetAsync(cancel);
        var ids = only ?? [.. (await instructors.ListAsync(alsoRetired: true, cancel)).Select(card => card.Id)];
        var (start, end) = (facts.Zone.AtStartOfDay(from).ToInstant(), facts.Zone.AtStartOfDay(to.PlusDays(1)).ToInstant());
        var earliest = start - Lesson.Longest;
        var (firstTest, lastTest) = (start - TestBook.Longest, end + TestBook.Longest);
        var (lessonRows, testRows) = (new Rows<Lesson>(), new Rows<TestDay>());
        var loaded = await pictures.LoadAsync(from, to, ids, cancel, beside: together =>
        {
            lessonRows = together.Ask(db.Set<Lesson>().AsNoTracking()
                .Where(l => ids.Contains(l.InstructorId) && l.State != LessonState.Cancelled && l.StartsAt > earliest && l.StartsAt < end && l.EndsAt > start)
                .OrderBy(l => l.StartsAt));
            testRows = together.Ask(db.Set<TestDay>().AsNoTracking()
                .Where(t => t.StartsAt > firstTest && t.StartsAt < lastTest)
                .Where(t => t.InstructorId != null && ids.Contains(t.InstructorId.Value) && t.State != TestDayState.TakenOff && t.BlockedFrom < end && t.BlockedUntil > start)
                .OrderBy(t => t.BlockedFrom));
        });
        var (lessons, tests) = (lessonRows.All, testRows.All);
        await past.VeilAsync(viewer, lessons, cancel);
        var lessonIds = lessons.Select(l => l.Id).ToArray();
        var also = new ReadTogether(db);
        var cards = pupils.Cards(also, lessons.Select(l => l.PupilId).Concat(tests.Select(t => t.PupilId)));
        var late = also.Ask(db.Set<LateNote>().AsNoTracking().Where(n => lessonIds.Contains(n.LessonId)));
        await also.RunAsync(cancel);
        // Lessons of these days make their pupils the instructor's own.
        var near = ids.All(id => id == viewer.InstructorId) && await own.IsNearAsync(new(start, start), cancel) && await own.IsNearAsync(new(end - Duration.Epsilon, end), cancel);
        var shown = near ? cards() : await own.VeilAsync(viewer, cards(), cancel);
        var context = new DiaryContext(facts, loaded.Picture.Rules, loaded.Picture.Now, shown, loaded.Cars) { Late = late.All.ToDictionary(n => n.LessonId) };
        return
        [
            .. loaded.Instructors.Values.OrderBy(card => card.Name, StringComparer.CurrentCultureIgnoreCase).SelectMany(
                card => Enumerable.Range(0, Period.DaysBetween(from, to) + 1).Select(
                    n => Day(context, loaded, card, from.PlusDays(n), lessons, tests))),
        ];
    }

    private static DaySheet Day(
        DiaryContext context, LoadedPicture loaded, InstructorCard instructor, LocalDate date, IReadOnlyList<Lesson> lessons, IReadOnlyList<TestDay> tests)
    {
        var zone = context.School.Zone;
        var day = new Interval(zone.AtStartOfDay(date).ToInstant(), zone.AtStartOfDay(date.PlusDays(1)).ToInstant());
        var diary = loaded.DiaryOf(instructor.Id)!;
        var route = DayRoute.Build(context.Rules, zone, diary, date, loaded.Travel);
        var working = diary.Hours.Where(hours => hours.AppliesOn(date)).Select(hours => hours.During(date, zone)).OrderBy(span => span.Start).ToList();
        var off = loaded.TimeOff.Where(row => row.InstructorId == instructor.Id && row.StartsAt < day.End && row.EndsAt > day.Start).ToList();
        var free = OpenTime.Ahead(working, off.Select(row => new Interval(row.StartsAt, row.EndsAt)), route, context.Rules, context.Now);
        IReadOnlyList<Lesson> own = [.. lessons.Where(l => l.InstructorId == instructor.Id && l.StartsAt < day.End && l.EndsAt > day.Start)];
        IReadOnlyList<TestDay> ownTests = [.. tests.Where(t => t.InstructorId == instructor.Id && t.BlockedFrom < day.End && t.BlockedUntil > day.Start)];
        return new(context, instructor, date, route, own, ownTests, working, off, free)
        {
            Held = [.. diary.Holds.Where(hold => (!hold.During.HasStart || hold.During.Start < day.End) && (!hold.During.HasEnd || hold.During.End > day.Start)).Select(hold => hold.CarId)],
            Overdue = drive =>
            {
                var ground = new LateGround(loaded, diary, own, ownTests, context.Late, drive, context.Now);
                return RunningLate.Overdue(context.Rules, zone, diary, date, loaded.Travel, context.Now, ground.Unknown, ground.Known);
            },
        };
    }
}
