using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary;
using School.Core.Pupils;
using School.Core.Travel;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Hours;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Settings;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Modules.Travel.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Search;

/// <summary>The diaries of some days as the rules want them, and the names that go with the ids.</summary>
internal sealed record LoadedPicture(
    DiaryPicture Picture, ITravelTimes Travel, IReadOnlyDictionary<Guid, InstructorCard> Instructors, IReadOnlyDictionary<Guid, CarCard> Cars)
{
    public InstructorDiary? DiaryOf(Guid instructorId) => Picture.Instructors.FirstOrDefault(d => d.Instructor.Id == instructorId);
}

/// <summary>Reads what a search or a check looks at, in a handful of queries whatever the number of days and instructors.</summary>
internal sealed class PictureLoader(
    SchoolDb db, ReadOnce once, SchoolInfo school, InstructorBook instructors, CarPark carPark, TravelModel travel, IClock clock)
{
    // Lets an index on the start alone bound the search: no lesson is longer.
    private static readonly Duration LongestLesson = Duration.FromMinutes(Lesson.LongestMinutes);

    private const int MostPlacesTogether = 150;

    /// <summary>Everything between two dates, both included.</summary>
    /// <param name="from">First date.</param>
    /// <param name="to">Last date.</param>
    /// <param name="only">These instructors, also when retired; all who still teach when null.</param>
    /// <param name="cancel">Cancels.</param>
    /// <param name="also">Places that are not in the diaries yet and that drives may lead to.</param>
    public async Task<LoadedPicture> LoadAsync(
        LocalDate from, LocalDate to, IReadOnlyCollection<Guid>? only, CancellationToken cancel, IReadOnlyCollection<Coordinates>? also = null)
    {
        var days = Days(from, to, (await school.GetAsync(cancel)).Zone);
        return await LoadAsync(from, to, only, alsoRetired: only is not null, await EntriesAsync(days, cancel), cancel, also);
    }

    /// <summary>The diaries of those who go along to some tests, with what lies within a day of each; there may be months between them.</summary>
    public async Task<LoadedPicture> AroundAsync(IReadOnlyCollection<TestDay> tests, CancellationToken cancel)
    {
        var zone = (await school.GetAsync(cancel)).Zone;
        var (from, to) = (tests.Min(t => t.BlockedFrom).InZone(zone).Date, tests.Max(t => t.BlockedUntil).InZone(zone).Date);
        var (ids, days, day) = (tests.Select(t => t.Id).ToArray(), Days(from, to, zone), Duration.FromDays(1));
        var near = db.Set<TestDay>().AsNoTracking().Where(t => ids.Contains(t.Id))
            .SelectMany(t => Within(days).Where(l => l.InstructorId == t.InstructorId && l.StartsAt > t.BlockedFrom - day && l.StartsAt < t.BlockedUntil + day));
        var entries = (await EntriesAsync(near, TestsWithin(days), cancel)).DistinctBy(e => e.Entry.Id).ToList();
        return await LoadAsync(from, to, [.. tests.Select(t => t.InstructorId).OfType<Guid>().Distinct()], alsoRetired: true, entries, cancel);
    }

    /// <summary>All that stands whatever is booked: every instructor, also when retired, on every date, without entries.</summary>
    public Task<LoadedPicture> StandingAsync(CancellationToken cancel) =>
        LoadAsync(LessonStarts.FirstDate, LessonStarts.LastDate, only: null, alsoRetired: true, [], cancel);

    private async Task<LoadedPicture> LoadAsync(
        LocalDate from, LocalDate to, IReadOnlyCollection<Guid>? only, bool alsoRetired, List<(Guid? InstructorId, DiaryEntry Entry)> entries, CancellationToken cancel,
        IReadOnlyCollection<Coordinates>? also = null)
    {
        var zone = (await school.GetAsync(cancel)).Zone;
        var rules = await RulesAsync(cancel);
        var days = Days(from, to, zone);
        var cards = await instructors.ListAsync(alsoRetired, cancel);
        var wanted = cards.Where(card => only is null || only.Contains(card.Id)).ToDictionary(card => card.Id);
        var park = await carPark.ReadAsync(zone, alsoRetired: true, cancel);

        var ids = wanted.Keys.ToArray();
        var hours = (await db.Set<WorkingHoursRow>().AsNoTracking()
            .Where(h => ids.Contains(h.InstructorId) && h.From <= to && (h.To == null || h.To >= from)).ToListAsync(cancel)).ToLookup(h => h.InstructorId);
        var timeOff = (await db.Set<TimeOffRow>().AsNoTracking()
            .Where(o => ids.Contains(o.InstructorId) && o.StartsAt < days.End && o.EndsAt > days.Start).ToListAsync(cancel)).ToLookup(o => o.InstructorId);
        var byInstructor = entries.ToLookup(e => e.InstructorId, e => e.Entry);
        var holds = park.Holds.ToLookup(h => h.InstructorId);

        var picture = new DiaryPicture(
            rules,
            zone,
            clock.GetCurrentInstant(),
            [.. wanted.Values.Select(card => new InstructorDiary(
                card.Facts,
                [.. hours[card.Id].Select(h => h.ToHours())],
                [.. timeOff[card.Id].Select(o => new Interval(o.StartsAt, o.EndsAt))],
                [.. byInstructor[card.Id]],
                [.. holds[card.Id]]))],
            [.. park.Cars.Where(c => c.RetiredOn is null).Select(c => c.Facts)],
            CarsOf(entries));
        return new(picture, await travel.GetAsync(Places(picture, also ?? []), cancel), wanted, park.Cars.ToDictionary(c => c.Id));
    }

    /// <summary>All places together while they are few; else those of each instructor, since nobody drives all of them.</summary>
    private static List<HashSet<Coordinates>> Places(DiaryPicture picture, IReadOnlyCollection<Coordinates> also)
    {
        var each = picture.Instructors.Select(diary => diary.Entries.Where(entry => entry.IsPlaced)
            .SelectMany(entry => new[] { entry.Begins!.Value, entry.Ends!.Value }).Append(diary.Instructor.Base).Concat(also).ToHashSet()).ToList();
        var all = each.SelectMany(places => places).ToHashSet();
        return all.Count <= MostPlacesTogether ? [all] : each;
    }

    public async Task<DiaryRules> RulesAsync(CancellationToken cancel) =>
        (await once.GetAsync("rules", () => db.Set<DiarySettings>().AsNoTracking().SingleAsync(cancel))).Rules;

    /// <summary>Facts of pupils with all their lessons in the weeks that the dates touch: weekly limits count whole weeks.</summary>
    public async Task<IReadOnlyDictionary<Guid, PupilFacts>> PupilsAsync(
        IReadOnlyCollection<PupilCard> pupils, LocalDate from, LocalDate to, CancellationToken cancel) =>
        await PupilsAsync(pupils, from, to, (await school.GetAsync(cancel)).Zone, cancel);

    /// <summary>The same where the school's zone is known already.</summary>
    public async Task<IReadOnlyDictionary<Guid, PupilFacts>> PupilsAsync(
        IReadOnlyCollection<PupilCard> pupils, LocalDate from, LocalDate to, DateTimeZone zone, CancellationToken cancel)
    {
        var weeks = Days(from.PlusDays(1 - (int)from.DayOfWeek), to.PlusDays(7 - (int)to.DayOfWeek), zone);
        var ids = pupils.Select(p => p.Id).ToArray();
        var taken = (await Within(weeks).Where(l => ids.Contains(l.PupilId)).Select(l => new { l.Id, l.PupilId, From = l.StartsAt, Until = l.EndsAt, Counts = true })
            .Concat(TestsWithin(weeks).Where(t => ids.Contains(t.PupilId)).Select(t => new { t.Id, t.PupilId, From = t.BlockedFrom, Until = t.BlockedUntil, Counts = false }))
            .ToListAsync(cancel)).ToLookup(t => t.PupilId);
        return pupils.ToDictionary(p => p.Id, p => p.Facts([.. taken[p.Id].Select(t => new PupilLesson(t.Id, new Interval(t.From, t.Until), t.Counts))]));
    }

    public static IReadOnlyList<CarBusy> CarsOf(List<(Guid? InstructorId, DiaryEntry Entry)> entries) =>
        [.. from e in entries where e.Entry.CarId is not null select new CarBusy(e.Entry.CarId!.Value, e.Entry.Id, e.Entry.During)];

    /// <summary>
    /// Everybody's entries that touch a period: lessons from pick-up to drop-off; test days from the pick-up before the test to the
    /// centre, or back at the pick-up, after it.
    /// </summary>
    public Task<List<(Guid? InstructorId, DiaryEntry Entry)>> EntriesAsync(Interval days, CancellationToken cancel) => EntriesAsync(Within(days), TestsWithin(days), cancel);

    private static async Task<List<(Guid? InstructorId, DiaryEntry Entry)>> EntriesAsync(IQueryable<Lesson> ofLessons, IQueryable<TestDay> ofTests, CancellationToken cancel)
    {
        var lessons = ofLessons.Select(l => new
        {
            l.Id,
            Kind = EntryKind.Lesson,
            InstructorId = (Guid?)l.InstructorId,
            l.PupilId,
            CarId = (Guid?)l.CarId,
            From = l.StartsAt,
            Until = l.EndsAt,
            FromLatitude = l.PickUp.Latitude,
            FromLongitude = l.PickUp.Longitude,
            ToLatitude = l.DropOff.Latitude,
            ToLongitude = l.DropOff.Longitude,
        });
        var tests = ofTests.Select(t => new
        {
            t.Id,
            Kind = EntryKind.Test,
            t.InstructorId,
            t.PupilId,
            t.CarId,
            From = t.BlockedFrom,
            Until = t.BlockedUntil,
            FromLatitude = t.PickUp.Latitude,
            FromLongitude = t.PickUp.Longitude,
            ToLatitude = t.EndsAtPickUp ? t.PickUp.Latitude : t.Centre.Latitude,
            ToLongitude = t.EndsAtPickUp ? t.PickUp.Longitude : t.Centre.Longitude,
        });
        var rows = await lessons.Concat(tests).ToListAsync(cancel);
        return rows.ConvertAll(e => (e.InstructorId, new DiaryEntry(
            e.Id, e.Kind, new Interval(e.From, e.Until), e.PupilId, e.CarId,
            new Coordinates(e.FromLatitude, e.FromLongitude), new Coordinates(e.ToLatitude, e.ToLongitude))));
    }

    private IQueryable<TestDay> TestsWithin(Interval days) => db.Set<TestDay>().AsNoTracking()
        .Where(t => t.State != TestDayState.TakenOff && t.BlockedFrom < days.End && t.BlockedUntil > days.Start);

    private IQueryable<Lesson> Within(Interval days)
    {
        var earliest = days.Start - LongestLesson;
        return db.Set<Lesson>().AsNoTracking().Where(
            l => l.State != LessonState.Cancelled && l.StartsAt < days.End && l.EndsAt > days.Start && l.StartsAt > earliest);
    }

    private static Interval Days(LocalDate from, LocalDate to, DateTimeZone zone) =>
        new(zone.AtStartOfDay(from).ToInstant(), zone.AtStartOfDay(to.PlusDays(1)).ToInstant());
}
