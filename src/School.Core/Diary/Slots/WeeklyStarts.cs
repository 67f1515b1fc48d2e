using NodaTime;

namespace School.Core.Diary.Slots;

/// <summary>One date of weekly lessons.</summary>
/// <param name="Date">The local date, a whole number of weeks after the first.</param>
/// <param name="Start">The moment; null when the clocks skip the local time on this date.</param>
public readonly record struct WeeklyStart(LocalDate Date, Instant? Start);

/// <summary>The starts of lessons at the same weekday and local time, week after week.</summary>
public static class WeeklyStarts
{
    /// <summary>The dates and moments, the first included.</summary>
    /// <param name="first">The first start; its local weekday and time are those of all.</param>
    /// <param name="weeks">How many, 1 or more.</param>
    /// <param name="zone">Where the school is.</param>
    /// <remarks>
    /// The local time stays when the clocks change, so that the moments move by the change. A local time that is skipped has
    /// no moment; of one that comes twice, the first is taken, except for the first start, which stays as it is.
    /// Counted by the IANA rules in the zone.
    /// </remarks>
    /// <exception cref="ArgumentOutOfRangeException">Fewer than one week.</exception>
    public static IReadOnlyList<WeeklyStart> Of(Instant first, int weeks, DateTimeZone zone)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(weeks, 1);
        var local = first.InZone(zone).LocalDateTime;
        return [.. Enumerable.Range(0, weeks).Select(week =>
        {
            var at = local.PlusWeeks(week);
            return new WeeklyStart(at.Date, week == 0 ? first : MomentOf(zone.MapLocal(at)));
        })];
    }

    /// <summary>Where a lesson goes when one of its series moves: as many days on, at the other's new local time.</summary>
    /// <param name="start">The lesson's start now.</param>
    /// <param name="from">Where the other lesson was.</param>
    /// <param name="to">Where the other lesson goes.</param>
    /// <param name="zone">Where the school is.</param>
    /// <returns>The date and moment, by the policy of <see cref="Of"/>.</returns>
    public static WeeklyStart Shifted(Instant start, Instant from, Instant to, DateTimeZone zone)
    {
        var (was, goes) = (from.InZone(zone).LocalDateTime, to.InZone(zone).LocalDateTime);
        var days = Period.DaysBetween(was.Date, goes.Date);
        var at = start.InZone(zone).Date.PlusDays(days) + goes.TimeOfDay;
        return new(at.Date, start == from ? to : MomentOf(zone.MapLocal(at)));
    }

    private static Instant? MomentOf(NodaTime.TimeZones.ZoneLocalMapping mapping) =>
        mapping.Count == 0 ? null : mapping.First().ToInstant();
}
