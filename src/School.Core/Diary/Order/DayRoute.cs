using NodaTime;
using School.Core.Diary.Slots;
using School.Core.Diary.Time;
using School.Core.Travel;

namespace School.Core.Diary.Order;

/// <summary>One instructor's day on the road.</summary>
/// <param name="InstructorId">The instructor.</param>
/// <param name="Date">The local date.</param>
/// <param name="Stops">The placed entries in order of time.</param>
/// <param name="LatestDeparture">When to leave base at the latest: the last whole minute which, at the speed of its own hour, reaches the first stop with
/// the buffer in hand; null when there is no stop.</param>
/// <param name="LegHome">The drive from the last place to base; null when there is no stop.</param>
/// <param name="HomeAt">Arrival at base when leaving straight after the last stop; null when there is no stop.</param>
/// <param name="Gaps">The time between neighbouring stops, one fewer than the stops.</param>
/// <param name="DrivingMinutes">All legs, home included; driving within lessons is not counted.</param>
/// <param name="Miles">All legs, home included.</param>
/// <param name="TaughtMinutes">Lesson minutes on the date.</param>
public sealed record DayRoute(
    Guid InstructorId,
    LocalDate Date,
    IReadOnlyList<RouteStop> Stops,
    Instant? LatestDeparture,
    Leg? LegHome,
    Instant? HomeAt,
    IReadOnlyList<RouteGap> Gaps,
    int DrivingMinutes,
    double Miles,
    int TaughtMinutes)
{
    /// <summary>The route of one date: every placed entry that touches the date, with the drives between.</summary>
    public static DayRoute Build(DiaryRules rules, DateTimeZone zone, InstructorDiary diary, LocalDate date, ITravelTimes travel)
    {
        var day = new DayTimeline(zone, diary, date);
        var legs = new Legs(travel, zone);
        var home = diary.Instructor.Base;
        var taught = day.Taught.WholeMinutes();
        var stops = new List<RouteStop>();
        var gaps = new List<RouteGap>();
        foreach (var entry in day.Entries.Where(entry => entry.IsPlaced))
        {
            if (stops.Count == 0)
            {
                stops.Add(FirstStop(diary, entry, legs.First(home, entry, rules)));
                continue;
            }
            var before = stops[^1].Entry;
            var leg = legs.Between(before.Ends!.Value, entry.Begins!.Value, before.During.End);
            stops.Add(NextStop(day, diary, stops[^1], entry, leg));
            gaps.Add(GapBetween(rules, before, entry, leg));
        }
        if (stops.Count == 0)
        {
            return new(diary.Instructor.Id, date, [], null, null, null, [], 0, 0, taught);
        }

        var (first, last) = (stops[0], stops[^1].Entry);
        var legHome = legs.Between(last.Ends!.Value, home, last.During.End);
        return new(
            diary.Instructor.Id,
            date,
            stops,
            first.Arrives - Duration.FromMinutes(first.Leg.Minutes),
            legHome,
            last.During.End + Duration.FromMinutes(legHome.Minutes),
            gaps,
            stops.Sum(stop => stop.Leg.Minutes) + legHome.Minutes,
            stops.Sum(stop => stop.Leg.Miles) + legHome.Miles,
            taught);
    }

    private static RouteStop FirstStop(InstructorDiary diary, DiaryEntry entry, FirstDrive drive)
    {
        var arrives = drive.Leaves + Duration.FromMinutes(drive.Leg.Minutes);
        return new(entry, drive.Leg, arrives, (entry.During.Start - arrives).WholeMinutes(), IsInTimeOff(diary, entry));
    }

    // Where one of the two lies in time off, the time off stands in nobody's way: that the stop is there at all is told instead.
    private static RouteStop NextStop(DayTimeline day, InstructorDiary diary, RouteStop before, DiaryEntry entry, Leg leg)
    {
        var (left, drive, off) = (before.Entry.During.End, Duration.FromMinutes(leg.Minutes), IsInTimeOff(diary, entry));
        var (arrives, free) = off || before.InTimeOff
            ? (left + drive, entry.During.Start - left)
            : (day.Arrival(left, drive), day.Free(left, entry.During.Start));
        return new(entry, leg, arrives, (free - drive).WholeMinutes(), off);
    }

    private static bool IsInTimeOff(InstructorDiary diary, DiaryEntry entry) =>
        diary.TimeOff.Any(off => Stretch.Of(off).Overlaps(Stretch.Of(entry.During)));

    private static RouteGap GapBetween(DiaryRules rules, DiaryEntry before, DiaryEntry entry, Leg leg)
    {
        var (from, to) = (before.During.End, entry.During.Start);
        var idle = Math.Max(0, (to - from).WholeMinutes() - leg.Minutes);
        return new(new(from, Instant.Max(from, to)), idle, idle >= rules.RestMinutes);
    }
}

/// <summary>A stop of the day.</summary>
/// <param name="Entry">The lesson or other placed entry.</param>
/// <param name="Leg">The drive to it, from base for the first stop.</param>
/// <param name="Arrives">Earliest arrival: driving as soon as the entry before is over, not during time off or busy time.
/// For the first stop, when leaving base at the latest departure.</param>
/// <param name="SlackMinutes">Free minutes that remain between arrival and the start, after time off and busy time; negative
/// means late by so many. The buffer is part of the slack. Next to a stop in time off, time off is not taken away.</param>
/// <param name="InTimeOff">Whether the entry lies in time off, wholly or in part: it cannot take place as it stands.</param>
public sealed record RouteStop(DiaryEntry Entry, Leg Leg, Instant Arrives, int SlackMinutes, bool InTimeOff);

/// <summary>The time between two neighbouring stops.</summary>
/// <param name="During">From the end of one to the start of the next; empty when they overlap.</param>
/// <param name="IdleMinutes">Minutes not driven in it, time off and busy time included; never below 0.</param>
/// <param name="HoldsRest">Whether the idle minutes make a rest by the school's rules.</param>
public sealed record RouteGap(Interval During, int IdleMinutes, bool HoldsRest);
