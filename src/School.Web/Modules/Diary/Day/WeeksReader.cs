using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Order;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Diary.Settings;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Day;

/// <summary>Weeks of all instructors: of each a day after the other, by name.</summary>
internal sealed record SchoolWeeks(SchoolFacts School, Instant Now, IReadOnlyList<IReadOnlyList<DayOutline>> Instructors, IReadOnlyDictionary<LocalDate, string> Holidays);

/// <summary>Reads weeks of everybody, in a handful of queries whatever their number; who is taught is not read.</summary>
internal sealed class WeeksReader(SchoolDb db, PictureLoader pictures, InstructorBook instructors, SchoolInfo school)
{
    /// <param name="from">First date.</param>
    /// <param name="to">Last date.</param>
    /// <param name="only">These instructors; everybody when null.</param>
    /// <param name="cancel">Cancels.</param>
    public async Task<SchoolWeeks> ReadAsync(LocalDate from, LocalDate to, IReadOnlyCollection<Guid>? only, CancellationToken cancel)
    {
        await pictures.AheadAsync(cancel);
        var facts = await school.GetAsync(cancel);
        var ids = only ?? [.. (await instructors.ListAsync(alsoRetired: true, cancel)).Select(card => card.Id)];
        var nation = facts.Nation;
        var (start, end) = (facts.Zone.AtStartOfDay(from).ToInstant(), facts.Zone.AtStartOfDay(to.PlusDays(1)).ToInstant());
        var (holidays, tests) = (new Rows<Holiday>(), new Rows<TestStart>());
        var loaded = await pictures.LoadAsync(from, to, ids, cancel, beside: together =>
        {
            holidays = together.Ask(db.Set<Holiday>().AsNoTracking().Where(h => h.Nation == nation && h.Date >= from && h.Date <= to).OrderBy(h => h.Date));
            tests = together.Ask(db.Set<TestDay>().AsNoTracking()
                .Where(t => t.StartsAt >= start && t.StartsAt < end && t.InstructorId != null && ids.Contains(t.InstructorId.Value) && t.State != TestDayState.TakenOff)
                .Select(t => new TestStart { Id = t.Id, StartsAt = t.StartsAt }));
        });
        var starts = tests.All.ToDictionary(test => test.Id, test => test.StartsAt);
        var days = Period.DaysBetween(from, to) + 1;
        return new(
            facts, loaded.Picture.Now,
            [
                .. loaded.Instructors.Values.OrderBy(card => card.Name, StringComparer.CurrentCultureIgnoreCase)
                    .Select(card => Enumerable.Range(0, days).Select(n => Day(loaded, card, from.PlusDays(n), starts)).ToList())
                    .Where(row => row[0].Instructor.RetiredOn is null || row.Exists(day => day.Entries.Count > 0)),
            ],
            holidays.All.ToDictionary(h => h.Date, h => h.Name));
    }

    private static DayOutline Day(LoadedPicture loaded, InstructorCard instructor, LocalDate date, Dictionary<Guid, Instant> tests)
    {
        var (picture, zone) = (loaded.Picture, loaded.Picture.Zone);
        var day = new Interval(zone.AtStartOfDay(date).ToInstant(), zone.AtStartOfDay(date.PlusDays(1)).ToInstant());
        var diary = loaded.DiaryOf(instructor.Id)!;
        var route = DayRoute.Build(picture.Rules, zone, diary, date, loaded.Travel);
        var working = diary.Hours.Where(hours => hours.AppliesOn(date)).Select(hours => hours.During(date, zone)).OrderBy(span => span.Start).ToList();
        var off = diary.TimeOff.Where(span => span.Start < day.End && span.End > day.Start).ToList();
        List<DiaryEntry> entries = [.. diary.Entries.Where(entry => entry.Kind is not EntryKind.Busy && entry.During.Start < day.End && entry.During.End > day.Start)];
        return new(instructor, date, working, off, entries, OpenTime.Ahead(working, off, route, picture.Rules, picture.Now))
        {
            BookedMinutes = route.TaughtMinutes,
            InTimeOff = route.Stops.Where(stop => stop.InTimeOff && stop.Entry.During.End > picture.Now).Select(stop => stop.Entry.Id).ToHashSet(),
            Tests = entries.Where(entry => tests.ContainsKey(entry.Id)).ToDictionary(entry => entry.Id, entry => tests[entry.Id]),
            PossibleMinutes = (int)OpenTime.Of(working, off).Sum(span => span.Duration.TotalMinutes),
        };
    }

    /// <summary>When a test begins: its entry begins at the pick-up before it.</summary>
    private sealed class TestStart
    {
        public required Guid Id { get; init; }

        public required Instant StartsAt { get; init; }
    }
}
