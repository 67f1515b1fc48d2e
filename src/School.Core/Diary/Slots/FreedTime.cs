using NodaTime;

namespace School.Core.Diary.Slots;

/// <summary>Cuts a freed stretch of a diary into times that a lesson can have.</summary>
public static class FreedTime
{
    /// <summary>
    /// As many times of one length as fit one after the other into what was taken and no longer is, each start on the school's grid
    /// (counted from midnight, local time), earliest first; what is too short for a lesson is left out.
    /// </summary>
    /// <param name="was">The stretch that was taken; it has both ends.</param>
    /// <param name="still">The stretch taken instead, where there is one; it has both ends.</param>
    /// <param name="minutes">Length of a lesson, above 0.</param>
    /// <param name="gridMinutes">The grid, from 5, dividing the day.</param>
    /// <param name="zone">Time zone of the school.</param>
    public static IReadOnlyList<Interval> Pieces(Interval was, Interval? still, int minutes, int gridMinutes, DateTimeZone zone)
    {
        ArgumentNullException.ThrowIfNull(zone);
        ArgumentOutOfRangeException.ThrowIfLessThan(minutes, 1);
        ArgumentOutOfRangeException.ThrowIfLessThan(gridMinutes, 1);
        if (still is not { } taken || taken.Start >= was.End || taken.End <= was.Start)
        {
            return [.. Cut(was.Start, was.End, minutes, gridMinutes, zone)];
        }

        return [.. Cut(was.Start, taken.Start, minutes, gridMinutes, zone), .. Cut(taken.End, was.End, minutes, gridMinutes, zone)];
    }

    private static IEnumerable<Interval> Cut(Instant from, Instant to, int minutes, int gridMinutes, DateTimeZone zone)
    {
        var length = Duration.FromMinutes(minutes);
        for (var start = OnGrid(from, gridMinutes, zone); start + length <= to; start = OnGrid(start + length, gridMinutes, zone))
        {
            yield return new(start, start + length);
        }
    }

    /// <summary>The first moment from then on whose local time is on the grid; where clocks change, the grid goes on from the new time.</summary>
    private static Instant OnGrid(Instant from, int gridMinutes, DateTimeZone zone)
    {
        var step = gridMinutes * NodaConstants.NanosecondsPerMinute;
        var past = from.InZone(zone).TimeOfDay.NanosecondOfDay % step;
        return past == 0 ? from : from + Duration.FromNanoseconds(step - past);
    }
}
