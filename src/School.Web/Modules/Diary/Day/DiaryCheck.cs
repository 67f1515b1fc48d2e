using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary.Slots;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Modules.Travel.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Day;

/// <summary>A booked lesson that cannot take place as booked, and the rule that it breaks.</summary>
internal sealed record ImpossibleBooking(Guid LessonId, Guid PupilId, string PupilName, Guid InstructorId, string InstructorName, Instant StartsAt, SlotRefusal Refusal);

/// <summary>Says which of the booked lessons ahead a later change has made impossible. A week in which nothing has changed is not judged again.</summary>
/// <remarks>Versions are read before what they stand for, so memory may hold more than its version says, but never less.</remarks>
internal sealed class DiaryCheck(
    SchoolDb db, ReadOnce once, PictureLoader pictures, PupilBook pupils, InstructorBook instructors, TravelModel travel, JudgedWeeks memory, SchoolInfo school, IClock clock)
{
    /// <summary>In order of time; of one instructor, or of all when null.</summary>
    public async Task<IReadOnlyList<ImpossibleBooking>> FindAsync(Guid? instructorId, CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        var zone = (await school.GetAsync(cancel)).Zone;
        var today = now.InZone(zone).Date;
        // What a transaction sees may be undone; and drives that are looked up may come out otherwise each time.
        var judged = db.Database.CurrentTransaction is null && !travel.LooksUp
            ? await RememberedAsync(MondayOf(today), cancel)
            : await JudgeAsync(today, LessonStarts.LastDate, zone, instructorId, cancel);
        var shown = judged.Where(l => l.StartsAt > now && (instructorId is null || l.InstructorId == instructorId)).OrderBy(l => l.StartsAt).ThenBy(l => l.LessonId).ToList();
        if (shown.Count == 0)
        {
            return [];
        }

        var cards = await pupils.CardsAsync(shown.Select(l => l.PupilId), cancel);
        var names = await instructors.NamesAsync(cancel);
        return [.. shown.Select(l => new ImpossibleBooking(l.LessonId, l.PupilId, cards[l.PupilId].Name, l.InstructorId, names[l.InstructorId], l.StartsAt, l.Refusal))];
    }

    private async Task<IReadOnlyList<JudgedLesson>> RememberedAsync(LocalDate first, CancellationToken cancel)
    {
        var versions = await VersionsAsync(first, cancel);
        memory.ForgetBefore(first);
        var found = new List<JudgedLesson>();
        var changed = new List<LocalDate>();
        foreach (var (monday, version) in versions.OrderBy(week => week.Key))
        {
            if (memory.Find(monday, version) is { } known)
            {
                found.AddRange(known);
            }
            else
            {
                changed.Add(monday);
            }
        }

        if (changed.Count == 0)
        {
            return found;
        }

        once.Forget();
        var zone = (await school.GetAsync(cancel)).Zone;
        foreach (var run in Runs(changed))
        {
            var judged = (await JudgeAsync(run[0], run[^1].PlusDays(6), zone, only: null, cancel)).ToLookup(l => MondayOf(l.StartsAt.InZone(zone).Date));
            foreach (var monday in run)
            {
                memory.Keep(monday, versions[monday], [.. judged[monday]]);
                found.AddRange(judged[monday]);
            }
        }

        return found;
    }

    /// <summary>Weeks with anything in them, by their Mondays. Counts only rise, so the sum of several is the same only when each is.</summary>
    private async Task<Dictionary<LocalDate, WeekVersion>> VersionsAsync(LocalDate first, CancellationToken cancel)
    {
        // A week is judged with the days beside it, and a local day lies within the UTC days of its own date and the neighbouring ones.
        const int Beside = 2;
        var from = first.PlusDays(-Beside);
        var days = await db.Set<DayVersion>().AsNoTracking()
            .Where(v => v.Day >= from || (v.Day == DayVersion.Always && (v.Subject == DayVersion.WholeSchool || v.Subject == DayVersion.Pupils)))
            .GroupBy(v => v.Day).Select(day => new { Day = day.Key, Version = day.Sum(v => v.Version) }).ToDictionaryAsync(day => day.Day, day => day.Version, cancel);
        days.Remove(DayVersion.Always, out var always);
        var weeks = days.Keys.Select(MondayOf).Distinct().Where(monday => monday >= first);
        return weeks.ToDictionary(
            monday => monday,
            monday => new WeekVersion(Enumerable.Range(-Beside, 7 + (2 * Beside)).Sum(day => days.GetValueOrDefault(monday.PlusDays(day))), always));
    }

    /// <summary>The impossible among the booked lessons that start within the dates, also when they have started by now.</summary>
    private async Task<IReadOnlyList<JudgedLesson>> JudgeAsync(LocalDate first, LocalDate last, DateTimeZone zone, Guid? only, CancellationToken cancel)
    {
        var (start, end) = (zone.AtStartOfDay(first).ToInstant(), zone.AtStartOfDay(last.PlusDays(1)).ToInstant());
        var booked = await db.Set<Lesson>().AsNoTracking()
            .Where(l => l.State == LessonState.Booked && l.StartsAt >= start && l.StartsAt < end && (only == null || l.InstructorId == only))
            .Select(l => new { l.Id, l.InstructorId, l.PupilId, l.StartsAt }).ToDictionaryAsync(l => l.Id, cancel);
        if (booked.Count == 0)
        {
            return [];
        }

        var (from, to) = (first.PlusDays(-1), booked.Values.Max(l => l.StartsAt).InZone(zone).Date.PlusDays(1));
        var loaded = await pictures.LoadAsync(from, to, booked.Values.Select(l => l.InstructorId).ToHashSet(), cancel);
        var cards = await pupils.CardsAsync(booked.Values.Select(l => l.PupilId), cancel);
        var facts = await pictures.PupilsAsync([.. cards.Values], from, to, cancel);
        var picture = loaded.Picture with { Now = start - Duration.Epsilon };
        return
        [
            .. from diary in picture.Instructors
               from impossible in DiaryAudit.Find(picture, diary, loaded.Travel, facts)
               let lesson = booked.GetValueOrDefault(impossible.LessonId)
               where lesson is not null
               select new JudgedLesson(lesson.Id, lesson.PupilId, lesson.InstructorId, lesson.StartsAt, impossible.Refusal),
        ];
    }

    /// <summary>Weeks that follow each other are read and judged at once.</summary>
    private static List<List<LocalDate>> Runs(List<LocalDate> mondays)
    {
        var runs = new List<List<LocalDate>>();
        foreach (var monday in mondays)
        {
            if (runs.Count > 0 && runs[^1][^1].PlusDays(7) == monday)
            {
                runs[^1].Add(monday);
            }
            else
            {
                runs.Add([monday]);
            }
        }

        return runs;
    }

    private static LocalDate MondayOf(LocalDate date) => date.PlusDays(1 - (int)date.DayOfWeek);
}
