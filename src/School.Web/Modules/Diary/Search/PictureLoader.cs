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
using School.Web.Modules.Places.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Modules.Travel.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Search;

/// <summary>The diaries of some days as the rules want them, and the names that go with the ids.</summary>
internal sealed record LoadedPicture(
    DiaryPicture Picture, ITravelTimes Travel, IReadOnlyDictionary<Guid, InstructorCard> Instructors, IReadOnlyDictionary<Guid, CarCard> Cars)
{
    /// <summary>Why nobody can be booked then, by start.</summary>
    public IReadOnlyList<TimeOffRow> TimeOff { get; init; } = [];

    /// <summary>In which area a pick-up lies; nothing where no instructor says which they serve.</summary>
    public AreasByDistrict Areas { get; init; } = AreasByDistrict.None;

    public InstructorDiary? DiaryOf(Guid instructorId) => Picture.Instructors.FirstOrDefault(d => d.Instructor.Id == instructorId);
}

/// <summary>What stands whatever the date, beside the school and its instructors.</summary>
[Flags]
internal enum Standing
{
    Rules = 1,
    Cars = 2,
    Drives = 4,
}

/// <summary>Reads what a search or a check looks at, in a handful of queries whatever the number of days and instructors.</summary>
internal sealed class PictureLoader(
    SchoolDb db, ReadOnce once, SchoolInfo school, InstructorBook instructors, CarPark carPark, TravelModel travel, AreaBook areas, IClock clock)
{
    private const int MostPlacesTogether = 150;
    private const string Rules = "rules";

    /// <summary>Everything between two dates, both included.</summary>
    /// <param name="from">First date.</param>
    /// <param name="to">Last date.</param>
    /// <param name="only">These instructors, also when retired; all who still teach when null.</param>
    /// <param name="cancel">Cancels.</param>
    /// <param name="also">Places that are not in the diaries yet and that drives may lead to.</param>
    /// <param name="beside">What else is read together with it.</param>
    public async Task<LoadedPicture> LoadAsync(
        LocalDate from, LocalDate to, IReadOnlyCollection<Guid>? only, CancellationToken cancel, IReadOnlyCollection<Coordinates>? also = null,
        Action<ReadTogether>? beside = null)
    {
        await AheadAsync(cancel);
        var days = Days(from, to, (await school.GetAsync(cancel)).Zone);
        return await LoadAsync(from, to, only, alsoRetired: only is not null, together => Asked(together, Within(days), TestsWithin(days)), cancel, also, beside);
    }

    /// <summary>What does not hang on dates, in one way to the database and back.</summary>
    public Task AheadAsync(CancellationToken cancel, Standing also = Standing.Rules | Standing.Cars | Standing.Drives, Action<ReadTogether>? beside = null)
    {
        var together = new ReadTogether(db);
        beside?.Invoke(together);
        school.Ahead(together);
        once.Ahead(together, Rules, db.Set<DiarySettings>().AsNoTracking(), rows => rows.Single().Rules);
        instructors.Ahead(together);
        if (also.HasFlag(Standing.Cars))
        {
            carPark.Ahead(together);
        }

        if (also.HasFlag(Standing.Drives))
        {
            travel.Ahead(together);
        }

        return together.RunAsync(cancel);
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
        return await LoadAsync(from, to, [.. tests.Select(t => t.InstructorId).OfType<Guid>().Distinct()], alsoRetired: true, _ => () => entries, cancel);
    }

    /// <summary>All that stands whatever is booked: every instructor, also when retired, on every date, without entries.</summary>
    public Task<LoadedPicture> StandingAsync(CancellationToken cancel) =>
        LoadAsync(LessonStarts.FirstDate, LessonStarts.LastDate, only: null, alsoRetired: true, ask: null, cancel);

    private async Task<LoadedPicture> LoadAsync(
        LocalDate from, LocalDate to, IReadOnlyCollection<Guid>? only, bool alsoRetired,
        Func<ReadTogether, Func<List<(Guid? InstructorId, DiaryEntry Entry)>>>? ask, CancellationToken cancel,
        IReadOnlyCollection<Coordinates>? also = null, Action<ReadTogether>? beside = null)
    {
        var zone = (await school.GetAsync(cancel)).Zone;
        var rules = await RulesAsync(cancel);
        var days = Days(from, to, zone);
        var cards = await instructors.ListAsync(alsoRetired, cancel);
        var wanted = cards.Where(card => only is null || only.Contains(card.Id)).ToDictionary(card => card.Id);
        var park = await carPark.ReadAsync(zone, alsoRetired: true, cancel);

        var ids = wanted.Keys.ToArray();
        var together = new ReadTogether(db);
        var read = ask?.Invoke(together);
        var hoursRows = together.Ask(db.Set<WorkingHoursRow>().AsNoTracking()
            .Where(h => ids.Contains(h.InstructorId) && h.From <= to && (h.To == null || h.To >= from)));
        var timeOffRows = together.Ask(db.Set<TimeOffRow>().AsNoTracking()
            .Where(o => ids.Contains(o.InstructorId) && o.StartsAt < days.End && o.EndsAt > days.Start).OrderBy(o => o.StartsAt));
        beside?.Invoke(together);
        await together.RunAsync(cancel);
        var entries = read?.Invoke();
        var hours = hoursRows.All.ToLookup(h => h.InstructorId);
        var timeOff = timeOffRows.All.ToLookup(o => o.InstructorId);
        var byInstructor = (entries ?? []).ToLookup(e => e.InstructorId, e => e.Entry);
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
            CarsOf(entries ?? []));
        // Without entries nobody drives anywhere.
        var drives = await travel.GetAsync(entries is null ? [] : Places(picture, also ?? []), cancel);
        return new(picture, drives, wanted, park.Cars.ToDictionary(c => c.Id)) { TimeOff = timeOffRows.All, Areas = await AreasAsync(wanted.Values, cancel) };
    }

    /// <summary>Read only where it makes a difference: most pages that look at a day ask for nothing more.</summary>
    private async Task<AreasByDistrict> AreasAsync(IEnumerable<InstructorCard> who, CancellationToken cancel) =>
        who.Any(card => card.Facts.Serves.Count > 0) ? await areas.ByDistrictAsync(cancel) : AreasByDistrict.None;

    private static readonly Coordinates Nowhere = Place.Unknown.At();

    /// <summary>All places together while they are few; else those of each instructor, since nobody drives all of them.</summary>
    private static List<HashSet<Coordinates>> Places(DiaryPicture picture, IReadOnlyCollection<Coordinates> also)
    {
        var each = picture.Instructors.Select(diary => diary.Entries.Where(entry => entry.IsPlaced)
            .SelectMany(entry => new[] { entry.Begins!.Value, entry.Ends!.Value }).Append(diary.Instructor.Base).Concat(also)
            // A place that is still to be asked lies nowhere, and no routing server is asked about it.
            .Where(at => at != Nowhere).ToHashSet()).ToList();
        var all = each.SelectMany(places => places).ToHashSet();
        return all.Count <= MostPlacesTogether ? [all] : each;
    }

    public Task<DiaryRules> RulesAsync(CancellationToken cancel) =>
        once.GetAsync(Rules, async () => (await db.Set<DiarySettings>().AsNoTracking().SingleAsync(cancel)).Rules);

    /// <summary>The rules as they were read under the locks of this transaction.</summary>
    public void Give(DiaryRules rules) => once.Give(Rules, rules);

    /// <summary>What fills a date of one instructor, and their cars, as a part of what is read together.</summary>
    public Func<List<(Guid? InstructorId, DiaryEntry Entry)>> Entries(ReadTogether together, LocalDate date, DateTimeZone zone, InstructorDiary diary)
    {
        var (id, cars, days) = (diary.Instructor.Id, diary.Holds.Select(hold => hold.CarId).Distinct().ToArray(), Days(date, date, zone));
        return Asked(
            together,
            Within(days).Where(l => l.InstructorId == id || cars.Contains(l.CarId)),
            TestsWithin(days).Where(t => t.InstructorId == id || (t.CarId != null && cars.Contains(t.CarId.Value))));
    }

    /// <summary>What a pupil has in the weeks that two dates and those between them touch, as a part of what is read together.</summary>
    public Func<List<PupilLesson>> Lessons(ReadTogether together, Guid pupilId, LocalDate from, LocalDate to, DateTimeZone zone)
    {
        var rows = together.Ask(Taken(Weeks(from, to, zone), [pupilId]));
        return () => [.. rows.All.Select(t => t.Lesson)];
    }

    /// <summary>A day of one instructor in the school as it stands, with the drives between its places and some others.</summary>
    public async Task<LoadedPicture> WithAsync(
        LoadedPicture standing, InstructorDiary diary, List<(Guid? InstructorId, DiaryEntry Entry)> entries, IReadOnlyCollection<Coordinates> also, CancellationToken cancel)
    {
        var own = entries.Where(e => e.InstructorId == diary.Instructor.Id).Select(e => e.Entry);
        var picture = standing.Picture with { Now = clock.GetCurrentInstant(), Instructors = [diary with { Entries = [.. own] }], CarBusy = CarsOf(entries) };
        return standing with { Picture = picture, Travel = travel.LooksUp ? await travel.GetAsync(Places(picture, also), cancel) : standing.Travel };
    }

    /// <summary>Facts of pupils with all their lessons in the weeks that the dates touch: weekly limits count whole weeks.</summary>
    public async Task<IReadOnlyDictionary<Guid, PupilFacts>> PupilsAsync(
        IReadOnlyCollection<PupilCard> pupils, LocalDate from, LocalDate to, CancellationToken cancel) =>
        await PupilsAsync(pupils, from, to, (await school.GetAsync(cancel)).Zone, cancel);

    /// <summary>The same where the school's zone is known already.</summary>
    public async Task<IReadOnlyDictionary<Guid, PupilFacts>> PupilsAsync(
        IReadOnlyCollection<PupilCard> pupils, LocalDate from, LocalDate to, DateTimeZone zone, CancellationToken cancel)
    {
        var taken = (await Taken(Weeks(from, to, zone), [.. pupils.Select(p => p.Id)]).ToListAsync(cancel)).ToLookup(t => t.PupilId, t => t.Lesson);
        return pupils.ToDictionary(p => p.Id, p => p.Facts([.. taken[p.Id]]));
    }

    private IQueryable<TakenTime> Taken(Interval weeks, Guid[] ids) =>
        Within(weeks).Where(l => ids.Contains(l.PupilId)).Select(l => new TakenTime { Id = l.Id, PupilId = l.PupilId, From = l.StartsAt, Until = l.EndsAt, Counts = true, BreakMinutes = l.BreakMinutes })
            .Concat(TestsWithin(weeks).Where(t => ids.Contains(t.PupilId))
                .Select(t => new TakenTime { Id = t.Id, PupilId = t.PupilId, From = t.BlockedFrom, Until = t.BlockedUntil, Counts = false, BreakMinutes = 0 }));

    private static Interval Weeks(LocalDate from, LocalDate to, DateTimeZone zone) =>
        Days(from.PlusDays(1 - (int)from.DayOfWeek), to.PlusDays(7 - (int)to.DayOfWeek), zone);

    public static IReadOnlyList<CarBusy> CarsOf(List<(Guid? InstructorId, DiaryEntry Entry)> entries) =>
        [.. from e in entries where e.Entry.CarId is not null select new CarBusy(e.Entry.CarId!.Value, e.Entry.Id, e.Entry.During)];

    /// <summary>
    /// Everybody's entries that touch a period: lessons from pick-up to drop-off; test days from the pick-up before the test to the
    /// centre, or back at the pick-up, after it.
    /// </summary>
    public Task<List<(Guid? InstructorId, DiaryEntry Entry)>> EntriesAsync(Interval days, CancellationToken cancel) => EntriesAsync(Within(days), TestsWithin(days), cancel);

    private static async Task<List<(Guid? InstructorId, DiaryEntry Entry)>> EntriesAsync(IQueryable<Lesson> ofLessons, IQueryable<TestDay> ofTests, CancellationToken cancel) =>
        [.. (await Filled(ofLessons, ofTests).ToListAsync(cancel)).Select(row => row.Entry)];

    private static Func<List<(Guid? InstructorId, DiaryEntry Entry)>> Asked(ReadTogether together, IQueryable<Lesson> ofLessons, IQueryable<TestDay> ofTests)
    {
        var rows = together.Ask(Filled(ofLessons, ofTests));
        return () => [.. rows.All.Select(row => row.Entry)];
    }

    private static IQueryable<FilledTime> Filled(IQueryable<Lesson> ofLessons, IQueryable<TestDay> ofTests)
    {
        var lessons = ofLessons.Select(l => new FilledTime
        {
            Id = l.Id,
            Kind = EntryKind.Lesson,
            LessonKind = (LessonKind?)l.Kind,
            Breaks = l.KeptBreaks,
            InstructorId = (Guid?)l.InstructorId,
            PupilId = l.PupilId,
            CarId = (Guid?)l.CarId,
            From = l.StartsAt,
            Until = l.EndsAt,
            FromLatitude = l.PickUp.Latitude,
            FromLongitude = l.PickUp.Longitude,
            ToLatitude = l.DropOff.Latitude,
            ToLongitude = l.DropOff.Longitude,
        });
        var tests = ofTests.Select(t => new FilledTime
        {
            Id = t.Id,
            Kind = EntryKind.Test,
            LessonKind = (LessonKind?)null,
            Breaks = "",
            InstructorId = t.InstructorId,
            PupilId = t.PupilId,
            CarId = t.CarId,
            From = t.BlockedFrom,
            Until = t.BlockedUntil,
            FromLatitude = t.PickUp.Latitude,
            FromLongitude = t.PickUp.Longitude,
            ToLatitude = t.EndsAtPickUp ? t.PickUp.Latitude : t.Centre.Latitude,
            ToLongitude = t.EndsAtPickUp ? t.PickUp.Longitude : t.Centre.Longitude,
        });
        return lessons.Concat(tests);
    }

    private IQueryable<TestDay> TestsWithin(Interval days)
    {
        // Lets an index on the start alone bound the search.
        var (earliest, latest) = (days.Start - TestBook.Longest, days.End + TestBook.Longest);
        return db.Set<TestDay>().AsNoTracking().Where(
            t => t.State != TestDayState.TakenOff && t.BlockedFrom < days.End && t.BlockedUntil > days.Start && t.StartsAt > earliest && t.StartsAt < latest);
    }

    private IQueryable<Lesson> Within(Interval days)
    {
        var earliest = days.Start - Lesson.Longest;
        return db.Set<Lesson>().AsNoTracking().Where(
            l => l.State != LessonState.Cancelled && l.StartsAt < days.End && l.EndsAt > days.Start && l.StartsAt > earliest);
    }

    private static Interval Days(LocalDate from, LocalDate to, DateTimeZone zone) =>
        new(zone.AtStartOfDay(from).ToInstant(), zone.AtStartOfDay(to.PlusDays(1)).ToInstant());
}
