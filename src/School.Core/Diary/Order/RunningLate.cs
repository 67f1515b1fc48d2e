using NodaTime;
using School.Core.Diary.Slots;
using School.Core.Diary.Time;
using School.Core.Travel;

namespace School.Core.Diary.Order;

/// <summary>What running late does to the rest of an instructor's day.</summary>
/// <remarks>
/// While a lesson or other placed entry is on, it is that one that is late: it ends so many minutes after its time. When nothing is on (before the
/// first of the day, in a gap, after one that is over) it is the next one: it starts so many minutes after its time, or later where the drive does not allow
/// it. From there on the instructor drives as soon as possible, not before the present moment and
/// not during time off or busy time; waits where there is time to spare; and gives every lesson its full length. The buffer
/// beside a drive is used up before anybody waits. Over a drive that is not known, because it leads from or to a place that is still to be
/// found, the day stays as late as it was.
/// </remarks>
public static class RunningLate
{
    /// <summary>More is not running late: the lesson is to be moved.</summary>
    public const int MostMinutes = 240;

    /// <summary>The rest of the date: every placed entry that has not begun.</summary>
    /// <param name="rules">The school's settings.</param>
    /// <param name="zone">The school's zone.</param>
    /// <param name="diary">The instructor's diary.</param>
    /// <param name="date">The date.</param>
    /// <param name="travel">Travel times; each leg is taken to last the moment at which it is really left.</param>
    /// <param name="now">The present moment.</param>
    /// <param name="minutes">How late; 0 or more.</param>
    /// <param name="unknown">Entries whose places are not known; null for none.</param>
    /// <param name="known">What is known beside the diary; null for nothing.</param>
    public static LateDay Of(
        DiaryRules rules, DateTimeZone zone, InstructorDiary diary, LocalDate date, ITravelTimes travel, Instant now, int minutes, UnknownPlaces? unknown = null,
        LateFacts? known = null)
    {
        ArgumentNullException.ThrowIfNull(rules);
        ArgumentNullException.ThrowIfNull(diary);
        ArgumentOutOfRangeException.ThrowIfNegative(minutes);
        var day = new DayTimeline(zone, diary, date);
        var legs = new Legs(travel, zone);
        known ??= LateFacts.None;
        var (begun, on, ahead) = At(day, now, known);
        if (ahead.Count == 0)
        {
            return new([], null, on);
        }

        var late = Duration.FromMinutes(minutes);
        var place = begun?.Ends ?? diary.Instructor.Base;
        var free = on is not null ? Instant.Max(now, on.During.End + late) : LeftSince(begun, now, known) ?? now;
        var stops = new List<LateStop>(ahead.Count);
        var behind = minutes;
        var left = begun is null || unknown?.Ends.Contains(begun.Id) != true;
        foreach (var entry in ahead)
        {
            var drive = left && unknown?.Begins.Contains(entry.Id) != true;
            // Whose time has come already is driven to, or waited for, by somebody who says how late they are.
            var underWay = on is null && stops.Count == 0 && entry.During.Start <= now;
            var starts = drive && !underWay
                ? Instant.Max(entry.During.Start, day.Arrival(free, Duration.FromMinutes(legs.Minutes(place, entry.Begins!.Value, free))))
                : Instant.Max(now, entry.During.Start + Duration.FromMinutes(behind));
            if (on is null && stops.Count == 0)
            {
                starts = Instant.Max(Instant.Max(now, starts), entry.During.Start + late);
            }

            var wait = (starts - entry.During.Start).CeilingMinutes();
            stops.Add(new(entry, starts, starts + entry.During.Duration, wait, Math.Max(0, behind - wait), drive));
            (place, free, behind, left) = (entry.Ends!.Value, stops[^1].Ends, wait, unknown?.Ends.Contains(entry.Id) != true);
        }
        return new(stops, left ? free + Duration.FromMinutes(legs.Minutes(place, diary.Instructor.Base, free)) : null, on);
    }

    /// <summary>
    /// The next stop as it is when the instructor leaves for it now, or left when they said: only once the time to leave is past, which keeps the buffer. Null before it,
    /// while something is on, when nothing is ahead, where the drive is not known or was driven already, and where the stop lies in time off or busy time or would be later than
    /// <see cref="MostMinutes"/>: what is wrong there is the diary.
    /// </summary>
    /// <returns>The stop; late by 0 while the buffer still takes it up.</returns>
    public static LateStop? Overdue(
        DiaryRules rules, DateTimeZone zone, InstructorDiary diary, LocalDate date, ITravelTimes travel, Instant now, UnknownPlaces? unknown = null, LateFacts? known = null)
    {
        var day = Of(rules, zone, diary, date, travel, now, 0, unknown, known);
        if (day is not { On: null, Stops: [{ DriveIsKnown: true } next, ..] } || next.Entry.During.Start <= now)
        {
            return null;
        }

        known ??= LateFacts.None;
        var timeline = new DayTimeline(zone, diary, date);
        var begun = At(timeline, now, known).Begun;
        var isThere = known.ArrivedAt <= now && LeftSince(begun, now, known) is not null;
        if (isThere || next.LateMinutes > MostMinutes || timeline.Blocked.Exists(Stretch.Of(next.Entry.During).Overlaps))
        {
            return null;
        }

        var legs = new Legs(travel, zone);
        var leaveBy = begun is null
            ? legs.First(diary.Instructor.Base, next.Entry, rules).Leaves
            : Instant.Max(
                begun.During.End,
                next.Entry.During.Start - Duration.FromMinutes(legs.Minutes(begun.Ends!.Value, next.Entry.Begins!.Value, begun.During.End) + rules.BufferMinutes));
        return now > leaveBy ? next : null;
    }

    /// <summary>Which entry began last, whether it is on, and what has not begun.</summary>
    private static (DiaryEntry? Begun, DiaryEntry? On, List<DiaryEntry> Ahead) At(DayTimeline day, Instant now, LateFacts known)
    {
        var placed = day.Entries.Where(entry => entry.IsPlaced).ToList();
        var last = placed.FindLastIndex(entry => entry.During.Start + known.LateBy(entry.Id) <= now && entry.Id != known.NotBegun);
        var begun = last < 0 ? null : placed[last];
        var on = begun is not null && !known.Over.Contains(begun.Id) && now < begun.During.End + known.LateBy(begun.Id) ? begun : null;
        return (begun, on, placed[(last + 1)..]);
    }

    // A drive that is said to have begun before the last entry did is not the one to the next.
    private static Instant? LeftSince(DiaryEntry? begun, Instant now, LateFacts known) =>
        known.LeftAt is { } left && left <= now && (begun is null || left >= begun.During.Start + known.LateBy(begun.Id)) ? left : null;
}

/// <summary>What is known of a day beside the diary.</summary>
/// <param name="Told">By how many minutes each entry was told to start late, by id: until then it has not begun, and it ends so much later.</param>
/// <param name="Over">Entries that are over whatever the clock says: recorded, or nobody came.</param>
/// <param name="NotBegun">An entry that has not begun although its time has come, as the instructor says.</param>
/// <param name="LeftAt">When the instructor left for the next stop, as they said.</param>
/// <param name="ArrivedAt">When that drive was over, as they said; null while it goes on.</param>
public sealed record LateFacts(
    IReadOnlyDictionary<Guid, int> Told, IReadOnlySet<Guid> Over, Guid? NotBegun = null, Instant? LeftAt = null, Instant? ArrivedAt = null)
{
    /// <summary>Nothing.</summary>
    public static LateFacts None { get; } = new(new Dictionary<Guid, int>(), new HashSet<Guid>());

    internal Duration LateBy(Guid entry) => Duration.FromMinutes(Told.GetValueOrDefault(entry));
}

/// <summary>The rest of a day that runs late.</summary>
/// <param name="Stops">What has not begun, in order of time.</param>
/// <param name="HomeAt">Arrival at base; null when nothing is ahead, or the drive there is not known.</param>
/// <param name="On">What is on, and therefore what is late; null when nothing is.</param>
public sealed record LateDay(IReadOnlyList<LateStop> Stops, Instant? HomeAt, DiaryEntry? On);

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
