using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Pupils;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Search;

/// <summary>A start to choose.</summary>
internal sealed record OfferedTime(Interval During, Guid InstructorId, string InstructorName, int ExtraDriving, string? Serves = null);

internal sealed record FreeDay(LocalDate Date, IReadOnlyList<OfferedTime> Times, bool Open);

/// <summary>The free times of a week, day by day; what stands in the way and what would help when there are none.</summary>
internal sealed record FreeWeek(
    SlotQuestion Question, LocalDate? Back, LocalDate? On, IReadOnlyList<FreeDay> Days, IReadOnlyList<OfferedTime> Best, Obstacle? InTheWay,
    IReadOnlyList<WayOut> WaysOut)
{
    /// <summary>Those that suit the pupil and can still be given up freely, soonest first.</summary>
    public IReadOnlyList<OfferedTime> Suitable { get; init; } = [];

    /// <summary>The first of them from a moment on; the first of all where there is none.</summary>
    public OfferedTime? FirstFrom(Instant? moment) => Suitable.FirstOrDefault(time => time.During.Start >= moment) ?? (Suitable.Count == 0 ? null : Suitable[0]);
}

/// <summary>Lays out what the slot search finds for somebody to choose from.</summary>
internal sealed class FreeTimes(SlotFinder slots, WaysOut ways, PictureLoader pictures, PupilTimes pupilTimes, SchoolDb db, SchoolInfo school, IClock clock)
{
    private const int DaysShown = 7;
    private const int TimesOpenAtFirst = 8;
    private const int BestFew = 3;

    public async Task<Outcome<FreeWeek>> WeekAsync(SlotQuestion question, Viewer viewer, CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        var rules = await pictures.RulesAsync(cancel);
        var today = facts.Today(clock);
        var first = viewer.IsStaff ? today : (clock.GetCurrentInstant() + Duration.FromHours(rules.NoticeToBookHours)).InZone(facts.Zone).Date;
        var last = LocalDate.Max(first, WaysOut.LastDate(viewer, rules, today));
        var from = LocalDate.Min(LocalDate.Max(question.From, first), last);
        question = question with { From = from, To = LocalDate.Min(from.PlusDays(DaysShown - 1), last) };

        var answer = await slots.FindAsync(question, viewer, cancel);
        if (!answer.Ok)
        {
            return answer.Refusal;
        }

        var found = answer.Value;
        var moving = await db.Set<Lesson>().AsNoTracking().Where(l => l.Id == question.MovingLessonId).Select(l => new { l.StartsAt, l.InstructorId }).ToListAsync(cancel);
        // A lesson is not moved to where it is.
        var chosen = OnePerStart(found).Where(t => !moving.Exists(l => l.StartsAt == t.During.Start && l.InstructorId == t.InstructorId)).ToList();
        var recorded = (await pupilTimes.ReadAsync([found.Pupil.Id], cancel))[found.Pupil.Id];
        var (charges, now) = (rules.Charges(), clock.GetCurrentInstant());
        var suits = chosen.FindAll(t => (viewer.IsStaff || charges.IsFree(t.During.Start, now)) && (recorded.Count == 0 || AvailableTime.Holds(recorded, t.During, facts.Zone)));
        return new FreeWeek(
            question,
            from > first ? LocalDate.Max(first, from.PlusDays(-DaysShown)) : null,
            question.To < last ? question.To.PlusDays(1) : null,
            Days(chosen, facts.Zone),
            chosen.Count > TimesOpenAtFirst ? Best(chosen, suits, facts.Zone) : [],
            found.Obstacles.Count == 0 ? null : found.Obstacles[0],
            await ways.OfAsync(question, found, viewer, cancel))
        {
            Suitable = [.. suits.OrderBy(t => t.During.Start)],
        };
    }

    /// <summary>In the order of the search, which is best first; of several instructors at one time the usual one, else the best.</summary>
    private static IEnumerable<OfferedTime> OnePerStart(SlotAnswer found) => found.Offers
        .GroupBy(o => o.Start)
        .Select(g => g.FirstOrDefault(o => o.InstructorId == found.Pupil.UsualInstructorId) ?? g.First())
        .Select(o => new OfferedTime(new(o.Start, o.End), o.InstructorId, found.Loaded.Instructors[o.InstructorId].Name, o.ExtraDrivingMinutes, found.Serves(o.InstructorId)));

    private static List<FreeDay> Days(List<OfferedTime> times, DateTimeZone zone)
    {
        var days = new List<FreeDay>();
        var shown = 0;
        foreach (var day in times.OrderBy(t => t.During.Start).GroupBy(t => t.During.Start.InZone(zone).Date))
        {
            days.Add(new(day.Key, [.. day], Open: shown < TimesOpenAtFirst));
            shown += days[^1].Times.Count;
        }

        return days;
    }

    /// <summary>Of those that suit the pupil and can still be given up freely: the ones that ask for less driving than most of all times do.</summary>
    private static List<OfferedTime> Best(List<OfferedTime> times, List<OfferedTime> suits, DateTimeZone zone)
    {
        var usual = times.Select(t => t.ExtraDriving).Order().ElementAt(times.Count / 2);
        return [.. suits.Where(t => t.ExtraDriving < usual).DistinctBy(t => t.During.Start.InZone(zone).Date).Take(BestFew).OrderBy(t => t.During.Start)];
    }
}
