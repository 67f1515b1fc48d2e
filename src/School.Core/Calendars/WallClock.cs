using NodaTime;
using NodaTime.TimeZones;

namespace School.Core.Calendars;

/// <summary>What the clocks of a zone show. Asked in order of time it looks at the zone only where its offset changes.</summary>
internal sealed class WallClock(DateTimeZone zone)
{
    // Of the interval that was looked at last, in seconds since 1970: none at first.
    private long from;
    private long until;
    private long onceFrom;
    private long onceUntil;
    private int offset;

    /// <summary>By how much the clocks are ahead of UTC, in seconds, and whether they show that time only once.</summary>
    public (int Offset, bool Once) At(long second)
    {
        if (second < from || second >= until)
        {
            Look(zone.GetZoneInterval(Instant.FromUnixTimeSeconds(second)));
        }

        return (offset, second >= onceFrom && second < onceUntil);
    }

    // Where clocks go back by an hour, the hour before and the hour after are shown alike.
    private void Look(ZoneInterval interval)
    {
        (from, until, offset) = (long.MinValue, long.MaxValue, interval.WallOffset.Seconds);
        (onceFrom, onceUntil) = (from, until);
        if (interval.HasStart)
        {
            from = interval.Start.ToUnixTimeSeconds();
            onceFrom = from + Math.Max(0, zone.GetZoneInterval(interval.Start - Duration.Epsilon).WallOffset.Seconds - offset);
        }

        if (interval.HasEnd)
        {
            until = interval.End.ToUnixTimeSeconds();
            onceUntil = until - Math.Max(0, offset - zone.GetZoneInterval(interval.End).WallOffset.Seconds);
        }
    }
}
