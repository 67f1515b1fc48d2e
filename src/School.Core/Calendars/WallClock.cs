using NodaTime;
using NodaTime.TimeZones;

namespace School.Core.Calendars;

/// <summary>What the clocks of a zone show. Asked in order of time it looks at the zone only where its offset changes.</summary>
internal sealed class WallClock(DateTimeZone zone)
{
    private ZoneInterval? interval;
    private Instant onceFrom;
    private Instant onceUntil;

    /// <summary>The local time, and whether the clocks show it only once.</summary>
    public (LocalDateTime Local, bool Once) At(Instant instant)
    {
        if (interval is null || !interval.Contains(instant))
        {
            interval = zone.GetZoneInterval(instant);
            (onceFrom, onceUntil) = Once(interval);
        }

        return (instant.WithOffset(interval.WallOffset).LocalDateTime, instant >= onceFrom && instant < onceUntil);
    }

    // Where clocks go back by an hour, the hour before and the hour after are shown alike.
    private (Instant From, Instant Until) Once(ZoneInterval during)
    {
        var (from, until) = (Instant.MinValue, Instant.MaxValue);
        if (during.HasStart)
        {
            from = during.Start + Back(zone.GetZoneInterval(during.Start - Duration.Epsilon), during);
        }

        if (during.HasEnd)
        {
            until = during.End - Back(during, zone.GetZoneInterval(during.End));
        }

        return (from, until);
    }

    // By as much as a whole day where a country crosses the date line, more than an Offset holds.
    private static Duration Back(ZoneInterval before, ZoneInterval after) =>
        Duration.FromSeconds(Math.Max(0, before.WallOffset.Seconds - after.WallOffset.Seconds));
}
