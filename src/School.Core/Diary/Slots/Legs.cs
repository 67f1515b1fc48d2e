using NodaTime;
using School.Core.Travel;

namespace School.Core.Diary.Slots;

/// <summary>The first drive of a day: when it leaves, and how long it is at the speed of that hour.</summary>
internal readonly record struct FirstDrive(Instant Leaves, Leg Leg);

/// <summary>Travel times for one search: asked by moment instead of local time, each question only once.</summary>
internal sealed class Legs(ITravelTimes travel, DateTimeZone zone)
{
    private static readonly Duration Minute = Duration.FromMinutes(1);

    private readonly Dictionary<(Coordinates, Coordinates, Instant), Leg> known = [];

    public Leg Between(Coordinates origin, Coordinates destination, Instant leaving)
    {
        var question = (origin, destination, leaving);
        if (!known.TryGetValue(question, out var leg))
        {
            known[question] = leg = travel.Between(origin, destination, leaving.InZone(zone).LocalDateTime);
        }

        return leg;
    }

    public int Minutes(Coordinates origin, Coordinates destination, Instant leaving) =>
        Between(origin, destination, leaving).Minutes;

    /// <summary>The drive that leaves as late as it can, on a whole minute, and still arrives by a moment at the speed of the hour in which it leaves.</summary>
    public FirstDrive Latest(Coordinates origin, Coordinates destination, Instant by)
    {
        for (var at = WholeMinute(by); ;)
        {
            var hour = HourBegins(at);
            var leg = Between(origin, destination, hour);
            var leaves = Instant.Min(at, WholeMinute(by - Duration.FromMinutes(leg.Minutes)));
            if (leaves >= hour)
            {
                return new(leaves, leg);
            }

            at = WholeMinute(hour - Minute);
        }
    }

    /// <summary>The drive to the first entry of a day, which arrives the buffer before it begins.</summary>
    public FirstDrive First(Coordinates home, DiaryEntry entry, DiaryRules rules) =>
        Latest(home, entry.Begins!.Value, entry.During.Start - Duration.FromMinutes(rules.BufferMinutes));

    /// <summary>The first moment at which one can be there when leaving at a moment or later: a later hour may be so much quicker that it arrives before.</summary>
    public Instant Earliest(Coordinates origin, Coordinates destination, Instant from)
    {
        var earliest = from + Duration.FromMinutes(Minutes(origin, destination, HourBegins(from)));
        for (var hour = HourBegins(from + Duration.FromHours(1)); hour < earliest; hour = HourBegins(hour + Duration.FromHours(1)))
        {
            if (hour > from)
            {
                earliest = Instant.Min(earliest, hour + Duration.FromMinutes(Minutes(origin, destination, hour)));
            }
        }

        return earliest;
    }

    /// <summary>When the hour of the clock began in which a moment lies, or the clock was changed within it.</summary>
    private Instant HourBegins(Instant moment)
    {
        var interval = zone.GetZoneInterval(moment);
        var begins = moment - Duration.FromTicks(moment.InZone(zone).TimeOfDay.TickOfDay % NodaConstants.TicksPerHour);
        return interval.HasStart ? Instant.Max(begins, interval.Start) : begins;
    }

    private static Instant WholeMinute(Instant moment)
    {
        var ticks = moment.ToUnixTimeTicks();
        return Instant.FromUnixTimeTicks(ticks - (((ticks % NodaConstants.TicksPerMinute) + NodaConstants.TicksPerMinute) % NodaConstants.TicksPerMinute));
    }
}
