using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Order;

namespace School.Web.Modules.Diary.Day;

/// <summary>What is left of some periods.</summary>
internal static class OpenTime
{
    /// <summary>The periods without those that are taken, in order; periods that touch are one.</summary>
    public static IReadOnlyList<Interval> Of(IEnumerable<Interval> periods, IEnumerable<Interval> taken)
    {
        var free = new List<Interval>();
        foreach (var period in periods.OrderBy(p => p.Start))
        {
            if (free.Count > 0 && period.Start <= free[^1].End)
            {
                free[^1] = new(free[^1].Start, Instant.Max(free[^1].End, period.End));
            }
            else
            {
                free.Add(period);
            }
        }

        return [.. taken.Aggregate(free, (left, gone) => [.. left.SelectMany(period => Without(period, gone))])];
    }

    /// <summary>What of working hours is free from now on, with room for the shortest lesson: neither off nor taken, nor needed to drive.</summary>
    public static IReadOnlyList<Interval> Ahead(IEnumerable<Interval> working, IEnumerable<Interval> off, DayRoute route, DiaryRules rules, Instant now)
    {
        var free = Of(working, off.Concat(route.Stops.Select(stop => Taken(stop, rules))));
        var shortest = Duration.FromMinutes(rules.ShortestElapsed());
        return
        [
            .. free.Where(gap => gap.End > now).Select(gap => Rounded(new(Instant.Min(Instant.Max(gap.Start, now), gap.End), gap.End)))
                .Where(gap => gap.Duration >= shortest),
        ];
    }

    /// <summary>Within the period, on whole five minutes: nobody books to the minute.</summary>
    public static Interval Rounded(Interval period)
    {
        const long Step = 5 * NodaConstants.SecondsPerMinute;
        var from = (period.Start.ToUnixTimeSeconds() + Step - 1) / Step * Step;
        var to = period.End.ToUnixTimeSeconds() / Step * Step;
        return new(Instant.FromUnixTimeSeconds(from), Instant.FromUnixTimeSeconds(Math.Max(from, to)));
    }

    // The drive to a stop and the minutes kept beside it are no free time either.
    private static Interval Taken(RouteStop stop, DiaryRules rules) =>
        new(stop.Entry.During.Start - Duration.FromMinutes(stop.Leg.Minutes + rules.BufferMinutes), stop.Entry.During.End);

    private static IEnumerable<Interval> Without(Interval period, Interval gone)
    {
        if (gone.Start >= period.End || gone.End <= period.Start)
        {
            return [period];
        }

        var before = new Interval(period.Start, Instant.Max(period.Start, gone.Start));
        var after = new Interval(Instant.Min(period.End, gone.End), period.End);
        return new[] { before, after }.Where(part => part.Duration > Duration.Zero);
    }
}
