using NodaTime;
using School.Core.Diary.Time;

namespace School.Core.Diary.Slots;

/// <summary>One instructor's date laid out in flat arrays, so that a search only has to look things up. Never changes.</summary>
/// <remarks>Holds nothing of the pupil, the wish or the present moment. Times are ticks of 100 ns since 1970.</remarks>
public sealed class PreparedDay
{
    private readonly SearchGround ground;
    private readonly InstructorDiary diary;
    private readonly Ticks[] blocked;
    private readonly Ticks[] open;
    private readonly long[] hourStarts;
    private readonly LocalDateTime[] hours;

    internal PreparedDay(SearchGround ground, InstructorDiary diary, LocalDate date, HeldCars cars, Guid? leftOut)
    {
        var day = new DayTimeline(ground.Zone, diary, date, leftOut);
        this.ground = ground;
        this.diary = diary with { Entries = day.Entries };
        Date = date;
        WholeDay = day.Day;
        Week = Weeks.Of(date, ground.Zone);
        Taught = day.Taught.CeilingMinutes();
        (WorkBegins, WorkEnds) = (day.WorkBegins.ToUnixTimeTicks(), day.WorkEnds.ToUnixTimeTicks());
        Starts = [.. day.GridStarts(ground.Zone, ground.Rules.GridMinutes).Select(start => start.ToUnixTimeTicks()).Order()];
        Spans = [.. day.Spans.Select(Ticks.Of)];
        TimeOff = [.. day.TimeOff.Select(Ticks.Of)];
        blocked = [.. day.Blocked.Select(Ticks.Of)];
        open = [.. Ticks.Without(Spans, blocked)];
        var legs = new Legs(ground.Travel, ground.Zone);
        Work = [.. day.Work(diary.Instructor.Base, legs, ground.Rules)];
        Openings = OpeningsOf(day, legs);
        Base = new(diary.Instructor.Base, ground.Number(diary.Instructor.Base));
        (hourStarts, hours) = HoursOf(day.Day);
        Cars = cars.On(date, day.Day, leftOut);
        CarsAreFree = Cars.AreFreeThroughout(new(day.WorkBegins, day.WorkEnds), date, day.Entries);
    }

    /// <summary>Whose day.</summary>
    public InstructorFacts Instructor => diary.Instructor;

    /// <summary>The local date.</summary>
    public LocalDate Date { get; }

    /// <summary>The most starts that a search of this day can find.</summary>
    public int MostStarts => Starts.Length;

    internal DiaryRules Rules => ground.Rules;

    internal Stretch WholeDay { get; }

    internal Stretch Week { get; }

    internal int Taught { get; }

    internal long WorkBegins { get; }

    internal long WorkEnds { get; }

    /// <summary>The grid within working hours, in order.</summary>
    internal long[] Starts { get; }

    internal Ticks[] Spans { get; }

    internal Ticks[] TimeOff { get; }

    internal WorkItem[] Work { get; }

    internal Opening[] Openings { get; }

    internal PlaceOnMap Base { get; }

    internal HeldCars Cars { get; }

    /// <summary>Whether no car stands in the way of any start, so that the choice depends on the opening alone.</summary>
    internal bool CarsAreFree { get; }

    /// <summary>The day as if a lesson were not there.</summary>
    internal PreparedDay Without(Guid lessonId) =>
        diary.Entries.Any(entry => entry.Id == lessonId) || Cars.AreTakenBy(lessonId)
            ? new(ground, diary, Date, Cars, lessonId)
            : this;

    /// <summary>How many starts lie before a moment: the place of the first that does not.</summary>
    internal int StartsBefore(long moment)
    {
        var (low, high) = (0, Starts.Length);
        while (low < high)
        {
            var middle = (low + high) >>> 1;
            if (Starts[middle] < moment)
            {
                low = middle + 1;
            }
            else
            {
                high = middle;
            }
        }
        return low;
    }

    /// <summary>The hour of the clock in which a moment of the day, its end included, lies: its local time and when the next begins.</summary>
    internal (LocalDateTime Local, long Until) HourAt(long moment)
    {
        var hour = HourNumber(moment);
        return (hours[hour], hour + 1 < hourStarts.Length ? hourStarts[hour + 1] : long.MaxValue);
    }

    private int HourNumber(long moment)
    {
        var hour = hourStarts.Length - 1;
        while (hour > 0 && hourStarts[hour] > moment)
        {
            hour--;
        }

        return hour;
    }

    /// <summary>The hour in which a drive to the day's first entry leaves: its local time, when it begins and when the next does. It may lie before the day.</summary>
    internal (LocalDateTime Local, long Begins, long Until) HourOfLeaving(long moment)
    {
        if (moment >= hourStarts[0])
        {
            var hour = HourNumber(moment);
            return (hours[hour], hourStarts[hour], hour + 1 < hourStarts.Length ? hourStarts[hour + 1] : long.MaxValue);
        }

        var at = Instant.FromUnixTimeTicks(moment);
        var time = at.InZone(ground.Zone).LocalDateTime;
        var zone = ground.Zone.GetZoneInterval(at);
        var begins = at.ToUnixTimeTicks() - (time.TimeOfDay.TickOfDay % NodaConstants.TicksPerHour);
        return (
            time,
            zone.HasStart ? Math.Max(begins, zone.Start.ToUnixTimeTicks()) : begins,
            Math.Min(begins + NodaConstants.TicksPerHour, zone.HasEnd ? zone.End.ToUnixTimeTicks() : long.MaxValue));
    }

    /// <summary>The first moment by which so much time that is not blocked has passed.</summary>
    internal long After(long from, long need)
    {
        if (need == 0)
        {
            return from;
        }

        foreach (var block in blocked)
        {
            if (block.End <= from)
            {
                continue;
            }

            if (from + need <= block.Start)
            {
                break;
            }

            if (block.Start > from)
            {
                need -= block.Start - from;
            }

            from = block.End;
        }
        return from + need;
    }

    /// <summary>The last moment from which so much time that is not blocked is left.</summary>
    internal long Before(long until, long need)
    {
        if (need == 0)
        {
            return until;
        }

        for (var i = blocked.Length - 1; i >= 0; i--)
        {
            var block = blocked[i];
            if (block.Start >= until)
            {
                continue;
            }

            if (until - need >= block.End)
            {
                break;
            }

            if (block.End < until)
            {
                need -= until - block.End;
            }

            until = block.Start;
        }
        return until - need;
    }

    /// <summary>What is left between two moments once a drive is taken off, but no more than there is within working hours; whole minutes.</summary>
    internal int Left(long from, long until, long need)
    {
        var free = until - from - Ticks.Overlap(blocked, from, until) - need;
        return (int)Math.Floor((double)Math.Min(free, Ticks.Overlap(open, from, until)) / NodaConstants.TicksPerMinute);
    }

    private Opening[] OpeningsOf(DayTimeline day, Legs legs)
    {
        var openings = new Opening[day.Entries.Count + 1];
        var ended = long.MinValue;
        var (gap, item) = (0, 0);
        var count = new RestCount(ground.Rules);
        var lacking = false;
        for (var i = 0; i < openings.Length; i++)
        {
            var entry = i < day.Entries.Count ? day.Entries[i] : null;
            openings[i] = new(
                ended,
                entry?.During.Start.ToUnixTimeTicks() ?? long.MaxValue,
                StopBefore(day.Gaps[gap].Before),
                StopAfter(day.Gaps[gap].After),
                day.Gaps[gap].DirectLeg(diary.Instructor.Base, legs, ground.Rules),
                item,
                count,
                lacking);
            if (entry is null)
            {
                break;
            }

            ended = Math.Max(ended, entry.During.End.ToUnixTimeTicks());
            if (entry.IsPlaced)
            {
                gap++;
            }

            while (item < Work.Length && Work[item].Entry == entry)
            {
                lacking |= !count.Goes(Work[item]);
                item++;
            }
        }
        return openings;
    }

    private Stop? StopBefore(DiaryEntry? entry) => entry is null ? null : new(
        entry.During.End.ToUnixTimeTicks(), new(entry.Ends!.Value, ground.Number(entry.Ends.Value)),
        entry.During.End.InZone(ground.Zone).LocalDateTime, entry.CarId);

    private Stop? StopAfter(DiaryEntry? entry) => entry is null ? null : new(
        entry.During.Start.ToUnixTimeTicks(), new(entry.Begins!.Value, ground.Number(entry.Begins.Value)), default, entry.CarId);

    private (long[] Starts, LocalDateTime[] Hours) HoursOf(Stretch day)
    {
        var starts = new List<long>();
        var locals = new List<LocalDateTime>();
        // The end of the day too: a lesson may end there and the drive begin.
        for (var at = day.Start; at <= day.End;)
        {
            var local = at.InZone(ground.Zone).LocalDateTime;
            starts.Add(at.ToUnixTimeTicks());
            locals.Add(local);
            var next = at + Duration.FromHours(1) - Duration.FromTicks(local.TimeOfDay.TickOfDay % NodaConstants.TicksPerHour);
            var change = ground.Zone.GetZoneInterval(at);
            at = change.HasEnd ? Instant.Min(next, change.End) : next;
        }
        return ([.. starts], [.. locals]);
    }
}
