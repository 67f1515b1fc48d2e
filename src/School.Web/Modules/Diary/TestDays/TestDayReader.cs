using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.TestDays;

/// <summary>A test day with the names, dates and warnings that go with it.</summary>
internal sealed record TestDayCard(
    TestDay Test, PupilCard Pupil, string? InstructorName, CarCard? Car, TestDeadline Deadline, LocalDate? RetestFrom, IReadOnlyList<TestDayWarning> Warnings);

/// <summary>What the pages and the API read of test days.</summary>
internal sealed class TestDayReader(
    SchoolDb db, TestDayAccess access, TestDayDates dates, TestDayWarnings warnings, PupilBook pupils, OwnPupils own, InstructorBook instructors, CarPark carPark,
    SchoolInfo school, IClock clock)
{
    public const int MostShown = 100;

    public async Task<TestDayCard?> FindAsync(Guid id, Viewer viewer, CancellationToken cancel) =>
        await access.Visible(viewer).AsNoTracking().SingleOrDefaultAsync(t => t.Id == id, cancel) is { } row
            ? (await CardsAsync([row], viewer, cancel))[0]
            : null;

    /// <summary>Booked ones, soonest first, those without a result before them all.</summary>
    public async Task<IReadOnlyList<TestDayCard>> ComingAsync(Guid? pupilId, Viewer viewer, CancellationToken cancel) => await CardsAsync(
        await Of(pupilId, access.Visible(viewer)).Where(t => t.State == TestDayState.Booked)
            .OrderBy(t => t.StartsAt).ThenBy(t => t.Id).Take(MostShown).ToListAsync(cancel),
        viewer, cancel);

    /// <summary>When and where the coming tests of these are who let it be seen, soonest first.</summary>
    public async Task<IReadOnlyList<TestDay>> ComingAsync(IReadOnlyList<PupilBeside> allowed, CancellationToken cancel)
    {
        var (now, wanted) = (clock.GetCurrentInstant(), allowed.Where(beside => beside.Lessons).Select(beside => beside.PupilId).ToArray());
        return wanted.Length == 0 ? [] : await db.Set<TestDay>().AsNoTracking()
            .Where(t => wanted.Contains(t.PupilId) && t.State == TestDayState.Booked && t.StartsAt > now).OrderBy(t => t.StartsAt).ThenBy(t => t.Id).Take(MostShown).ToListAsync(cancel);
    }

    /// <summary>Those that are over or off the diary, latest first: after so many, at most so many.</summary>
    public async Task<IReadOnlyList<TestDayCard>> EarlierAsync(Guid? pupilId, int after, int most, Viewer viewer, CancellationToken cancel) => await CardsAsync(
        await Of(pupilId, access.Visible(viewer)).Where(t => t.State != TestDayState.Booked)
            .OrderByDescending(t => t.StartsAt).ThenBy(t => t.Id).Skip(after).Take(most).ToListAsync(cancel),
        viewer, cancel);

    /// <summary>Who changed what, oldest first.</summary>
    public async Task<IReadOnlyList<TestDayChange>> HistoryAsync(Guid id, CancellationToken cancel) =>
        await db.Set<TestDayChange>().AsNoTracking().Where(c => c.TestDayId == id).OrderBy(c => c.At).ThenBy(c => c.Id).ToListAsync(cancel);

    /// <summary>The centres entered lately, each once, with the test day that holds its place.</summary>
    public async Task<IReadOnlyList<TestDay>> CentresAsync(CancellationToken cancel)
    {
        var since = clock.GetCurrentInstant() - Duration.FromDays(800);
        var rows = await db.Set<TestDay>().AsNoTracking().Where(t => t.StartsAt > since && t.State != TestDayState.TakenOff)
            .OrderByDescending(t => t.EnteredAt).Take(MostShown * 2).ToListAsync(cancel);
        return [.. rows.DistinctBy(t => t.Centre.Label).OrderBy(t => t.Centre.Label, StringComparer.CurrentCultureIgnoreCase)];
    }

    private static IQueryable<TestDay> Of(Guid? pupilId, IQueryable<TestDay> rows) =>
        pupilId is null ? rows.AsNoTracking() : rows.AsNoTracking().Where(t => t.PupilId == pupilId);

    public async Task<IReadOnlyList<TestDayCard>> CardsAsync(IReadOnlyList<TestDay> rows, Viewer viewer, CancellationToken cancel)
    {
        if (rows.Count == 0)
        {
            return [];
        }

        var cards = await pupils.CardsAsync(rows.Select(t => t.PupilId), cancel);
        var names = await instructors.NamesAsync(cancel);
        var cars = (await carPark.ReadAsync((await school.GetAsync(cancel)).Zone, alsoRetired: true, cancel)).Cars.ToDictionary(c => c.Id);
        var open = await warnings.OfAsync(rows, cards, cancel);
        var sees = viewer.KeepsDiary ? await own.OfAsync(viewer, [.. cards.Keys], cancel) : null;
        var made = new List<TestDayCard>(rows.Count);
        foreach (var row in rows)
        {
            var all = open.GetValueOrDefault(row.Id, []);
            made.Add(new(
                row, cards[row.PupilId], row.InstructorId is { } id ? names[id] : null, row.CarId is { } car ? cars[car] : null,
                await dates.DeadlineAsync(row, cancel), await dates.RetestFromAsync(row, cancel),
                [.. all.Where(w => (viewer.Towards(row.PupilId).IsStaff || !w.ForStaff) && !(w.OfPapers && sees is not null && sees[row.PupilId] != Sight.Everything))]));
        }

        return made;
    }
}
