using NodaTime;
using School.Core.Diary.Slots;
using School.Core.Diary.Time;
using School.Core.Travel;

namespace School.Core.Diary.Order;

/// <summary>What running late does to the rest of an instructor's day.</summary>
/// <remarks>
/// What is late is the lesson or other placed entry that began last: it ends so many minutes after its time. Before the first
/// of the day it is the latest departure from base. From there on the instructor drives as soon as possible, not before the present moment and
/// not during time off or busy time; waits where there is time to spare; and gives every lesson its full length. The buffer
/// beside a drive is used up before anybody waits. Over a drive that is not known, because it leads from or to a place that is still to be
/// found, the day stays as late as it was.
/// </remarks>
public static class RunningLate
{
    /// <summary>The rest of the date: every placed entry that has not begun.</summary>
    /// <param name="rules">The school's settings.</param>
    /// <param name="zone">The school's zone.</param>
    /// <param name="diary">The instructor's diary.</param>
    /// <param name="date">The date.</param>
    /// <param name="travel">Travel times; each leg is taken to last the moment at which it is really left.</param>
    /// <param name="now">The present moment.</param>
    /// <param name="minutes">How late; 0 or more.</param>
    /// <param name="unknown">Entries whose places are not known; null for none.</param>
    public static LateDay Of(
        DiaryRules rules, DateTimeZone zone, InstructorDiary diary, LocalDate date, ITravelTimes travel, Instant now, int minutes, UnknownPlaces? unknown = null)
    {
        ArgumentNullException.ThrowIfNull(rules);
        ArgumentNullException.ThrowIfNull(diary);
        ArgumentOutOfRangeException.ThrowIfNegative(minutes);
        var day = new DayTimeline(zone, diary, date);
        var legs = new Legs(travel, zone);
        var placed = day.Entries.Where(entry => entry.IsPlaced).ToList();
        var begun = placed.LastOrDefault(entry => entry.During.Start <= now);
        var ahead = placed.Where(entry => entry.During.Start > now).ToList();
        if (ahead.Count == 0)
        {
            return new([], null);
        }

        var late = Duration.FromMinutes(minutes);
        var (place, planned) = begun is null
            ? (diary.Instructor.Base, legs.First(diary.Instructor.Base, ahead[0], rules).Leaves)
            : (begun.Ends!.Value, begun.During.End);
        var free = Instant.Max(now, planned + late);
        var stops = new List<LateStop>(ahead.Count);
        var behind = minutes;
        var left = begun is null || unknown?.Ends.Contains(begun.Id) != true;
        foreach (var entry in ahead)
        {
            var known = left && unknown?.Begins.Contains(entry.Id) != true;
            var starts = known
                ? Instant.Max(entry.During.Start, day.Arrival(free, Duration.FromMinutes(legs.Minutes(place, entry.Begins!.Value, free))))
                : Instant.Max(now, entry.During.Start + Duration.FromMinutes(behind));
            var wait = (starts - entry.During.Start).CeilingMinutes();
            stops.Add(new(entry, starts, starts + entry.During.Duration, wait, Math.Max(0, behind - wait), known));
            (place, free, behind, left) = (entry.Ends!.Value, stops[^1].Ends, wait, unknown?.Ends.Contains(entry.Id) != true);
        }
        return new(stops, left ? free + Duration.FromMinutes(legs.Minutes(place, diary.Instructor.Base, free)) : null);
    }
}

/// <summary>The rest of a day that runs late.</summary>
/// <param name="Stops">What has not begun, in order of time.</param>
/// <param name="HomeAt">Arrival at base; null when nothing is ahead, or the drive there is not known.</param>
public sealed record LateDay(IReadOnlyList<LateStop> Stops, Instant? HomeAt);

/// <summary>A stop of a day that runs late.</summary>
/// <param name="Entry">The lesson or other placed entry, with its planned time.</param>
/// <param name="Starts">When it can start; never before its time.</param>
/// <param name="Ends">When it is over, at full length.</param>
/// <param name="LateMinutes">How much later than planned, rounded up; 0 on time.</param>
/// <param name="AbsorbedMinutes">How much less late than what went before: what the slack took up.</param>
/// <param name="DriveIsKnown">Whether the drive to it is; where not, it is as late as what went before.</param>
public sealed record LateStop(DiaryEntry Entry, Instant Starts, Instant Ends, int LateMinutes, int AbsorbedMinutes, bool DriveIsKnown = true);

/// <summary>Entries whose places are still to be found, by their ids.</summary>
/// <param name="Begins">Where they begin.</param>
/// <param name="Ends">Where they end.</param>
public sealed record UnknownPlaces(IReadOnlySet<Guid> Begins, IReadOnlySet<Guid> Ends);
