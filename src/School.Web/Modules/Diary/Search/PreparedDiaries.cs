using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Slots;
using School.Core.Travel;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.School.Contracts;
using School.Web.Modules.Travel.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Search;

/// <summary>The days of a search, and the school they were laid out for.</summary>
internal sealed record PreparedSchool(StandingSchool Standing, PreparedDay[] Days);

/// <summary>The days of a search as they were when they were last laid out, and whether they still are so.</summary>
internal sealed record RememberedSchool(PreparedSchool Prepared, Func<bool> Stands);

/// <summary>Gives the days of a search as they are now: from memory where the database says that nothing has changed, else read anew.</summary>
/// <remarks>Versions are read before what they stand for, so memory may hold more than its version says, but never less.</remarks>
internal sealed class PreparedDiaries(SchoolDb db, ReadOnce once, PictureLoader pictures, StandingSchools standing, SchoolInfo school, TravelModel travel, SearchMemory shared)
{
    /// <summary>All who still teach, or one instructor; null when there is no such instructor. One who has left has no days.</summary>
    /// <remarks>
    /// Where drives are looked up for each search, from a routing server, the days are laid out for each search too.
    /// <paramref name="changed"/> says that what is remembered was just found not to stand any more.
    /// </remarks>
    public Task<PreparedSchool?> ReadAsync(
        LocalDate from, LocalDate to, Guid? only, IReadOnlyCollection<Coordinates> places, CancellationToken cancel, bool changed = false) =>
        travel.LooksUp ? AnewAsync(from, to, only, places, cancel) : RememberedAsync(from, to, only, changed, cancel);

    /// <summary>
    /// What is remembered of the same search, with the question whether it still stands as a part of what is read together; null where
    /// nothing is, or a transaction is open, which may have written something.
    /// </summary>
    public RememberedSchool? Ask(ReadTogether together, LocalDate from, LocalDate to, Guid? only)
    {
        if (travel.LooksUp || db.Database.CurrentTransaction is not null || shared.School is not { } known || known.Range(from, to, only) is not { } range)
        {
            return null;
        }

        var now = together.Ask(Sums(known, from, to, only));
        return new(new(known, range.Days), () => now.All is [var sums] && Stand(sums, known, range.Versions));
    }

    private async Task<PreparedSchool?> AnewAsync(
        LocalDate from, LocalDate to, Guid? only, IReadOnlyCollection<Coordinates> places, CancellationToken cancel)
    {
        var loaded = await pictures.LoadAsync(from, to, only is { } id ? [id] : null, cancel, places);
        if (only is not null && loaded.Instructors.Count == 0)
        {
            return null;
        }

        var ground = new SearchGround(loaded.Picture.Rules, loaded.Picture.Zone, loaded.Travel);
        var dates = Enumerable.Range(0, Period.DaysBetween(from, to) + 1).Select(from.PlusDays).ToList();
        var teaching = loaded.Picture.Instructors.Where(diary => loaded.Instructors[diary.Instructor.Id].RetiredOn is null);
        return new(new(Version: 0, await school.GetAsync(cancel), loaded, ground), [.. teaching.SelectMany(diary => ground.Prepare(loaded.Picture, diary, dates))]);
    }

    private async Task<PreparedSchool?> RememberedAsync(LocalDate from, LocalDate to, Guid? only, bool changed, CancellationToken cancel)
    {
        // What a transaction has written may be undone, so nothing of it may be remembered beyond it.
        var memory = await standing.MayRememberAsync(cancel) ? shared : new SearchMemory();
        while (true)
        {
            var known = memory.School;
            if (!changed && known?.Range(from, to, only) is { } range && await StandsAsync(known, range.Versions, from, to, only, cancel))
            {
                return new(known, range.Days);
            }

            var versions = await VersionsAsync(from, to, only, known, cancel);
            var current = versions.GetValueOrDefault((DayVersion.WholeSchool, DayVersion.Always));
            if (known?.Version != current)
            {
                var loaded = await pictures.StandingAsync(cancel);
                memory.School = known = new(current, await school.GetAsync(cancel), loaded, new SearchGround(loaded.Picture.Rules, loaded.Picture.Zone, loaded.Travel));
                if (only is not null)
                {
                    // The versions of the cars held now may not have been asked for.
                    versions = await VersionsAsync(from, to, only, known, cancel);
                }
            }

            if (versions.GetValueOrDefault((DayVersion.WholeSchool, DayVersion.Always)) == current)
            {
                if (only is { } id && !known.Loaded.Instructors.ContainsKey(id))
                {
                    return null;
                }

                var days = await DaysAsync(known, from, to, only, versions, cancel);
                known.KeepRange(from, to, only, versions.Values.Sum() - current, days);
                return new(known, days);
            }
        }
    }

    /// <summary>Whether nothing has changed since: every count only rises, so their sum is the same only when each is. One row, where the counts are hundreds.</summary>
    private async Task<bool> StandsAsync(StandingSchool known, long sum, LocalDate from, LocalDate to, Guid? only, CancellationToken cancel)
    {
        once.Forget();
        return await Sums(known, from, to, only).SingleOrDefaultAsync(cancel) is { } now && Stand(now, known, sum);
    }

    private static bool Stand(SumOfVersions now, StandingSchool known, long sum) => now.Whole == known.Version && now.Days == sum;

    private IQueryable<SumOfVersions> Sums(StandingSchool known, LocalDate from, LocalDate to, Guid? only)
    {
        var days = VersionsOf(from, to, only, known);
        return OfWholeSchool.Select(whole => new SumOfVersions { Whole = whole.Version, Days = days.Sum(v => v.Version) });
    }

    private sealed class SumOfVersions
    {
        public long Whole { get; init; }

        public long Days { get; init; }
    }

    private async Task<Dictionary<(Guid, LocalDate), long>> VersionsAsync(
        LocalDate from, LocalDate to, Guid? only, StandingSchool? known, CancellationToken cancel)
    {
        var days = VersionsOf(from, to, only, known);
        once.Forget();
        return await days.Concat(OfWholeSchool).ToDictionaryAsync(v => (v.Subject, v.Day), v => v.Version, cancel);
    }

    private IQueryable<DayVersion> OfWholeSchool =>
        db.Set<DayVersion>().AsNoTracking().Where(v => v.Day == DayVersion.Always && v.Subject == DayVersion.WholeSchool);

    private IQueryable<DayVersion> VersionsOf(LocalDate from, LocalDate to, Guid? only, StandingSchool? known)
    {
        // A local day lies within the UTC days of its own date and the neighbouring ones.
        var (first, last) = (from.PlusDays(-1), to.PlusDays(1));
        var days = db.Set<DayVersion>().AsNoTracking().Where(v => v.Day >= first && v.Day <= last);
        if (only is not { } id)
        {
            return days;
        }

        var subjects = CarsOf(known?.Loaded.DiaryOf(id)).Append(id).ToArray();
        return days.Where(v => subjects.Contains(v.Subject));
    }

    private async Task<PreparedDay[]> DaysAsync(
        StandingSchool school, LocalDate from, LocalDate to, Guid? only, Dictionary<(Guid, LocalDate), long> versions, CancellationToken cancel)
    {
        var dates = new List<(LocalDate Date, LocalDate FirstUtc, LocalDate LastUtc)>();
        for (var date = from; date <= to; date = date.PlusDays(1))
        {
            var day = DayOf(date, school.Ground.Zone);
            dates.Add((date, day.Start.InUtc().Date, (day.End - Duration.Epsilon).InUtc().Date));
        }

        var days = new List<PreparedDay>();
        var missing = new List<(InstructorDiary Diary, LocalDate Date, long Version)>();
        foreach (var diary in school.Loaded.Picture.Instructors)
        {
            var card = school.Loaded.Instructors[diary.Instructor.Id];
            if (card.RetiredOn is not null || (only is { } id && id != card.Id))
            {
                continue;
            }

            var subjects = CarsOf(diary).Append(card.Id).ToList();
            foreach (var (date, firstUtc, lastUtc) in dates)
            {
                // Every count only rises, so the sum of them all is a version too.
                var version = 0L;
                foreach (var subject in subjects)
                {
                    for (var utc = firstUtc; utc <= lastUtc; utc = utc.PlusDays(1))
                    {
                        version += versions.GetValueOrDefault((subject, utc));
                    }
                }

                if (school.Find(card.Id, date, version) is { } day)
                {
                    days.Add(day);
                }
                else
                {
                    missing.Add((diary, date, version));
                }
            }
        }

        if (missing.Count > 0)
        {
            days.AddRange(await PrepareAsync(school, missing, cancel));
        }

        return [.. days];
    }

    private async Task<List<PreparedDay>> PrepareAsync(
        StandingSchool school, List<(InstructorDiary Diary, LocalDate Date, long Version)> missing, CancellationToken cancel)
    {
        var zone = school.Ground.Zone;
        var period = new Interval(DayOf(missing.Min(m => m.Date), zone).Start, DayOf(missing.Max(m => m.Date), zone).End);
        var entries = await pictures.EntriesAsync(period, cancel);
        var byInstructor = entries.ToLookup(e => e.InstructorId, e => e.Entry);
        var picture = school.Loaded.Picture with { CarBusy = PictureLoader.CarsOf(entries) };
        var days = new List<PreparedDay>(missing.Count);
        foreach (var group in missing.GroupBy(m => m.Diary))
        {
            var diary = group.Key with { Entries = [.. byInstructor[group.Key.Instructor.Id]] };
            foreach (var (day, (_, _, version)) in school.Ground.Prepare(picture, diary, group.Select(m => m.Date)).Zip(group))
            {
                school.Keep(day, version);
                days.Add(day);
            }
        }

        return days;
    }

    private static Interval DayOf(LocalDate date, DateTimeZone zone) =>
        new(zone.AtStartOfDay(date).ToInstant(), zone.AtStartOfDay(date.PlusDays(1)).ToInstant());

    private static IEnumerable<Guid> CarsOf(InstructorDiary? diary) => diary?.Holds.Select(hold => hold.CarId).Distinct() ?? [];
}
