using NodaTime;
using School.Core.Diary.Time;

namespace School.Core.Diary.Slots;

/// <summary>Looks through prepared days by the rules of <see cref="SlotSearch"/>, rule after rule over whole runs of starts.</summary>
/// <remarks>
/// Every rule but that of the cars forbids starts in whole intervals, so each takes runs off the day's grid and counts what it took.
/// Between two entries the legs change only with the hour; within an hour the drives leave one interval, and the rest rule turns over
/// at two moments only: from the first the lesson has a rest before it, up to the second one after it.
/// </remarks>
internal ref struct SlotKernel
{
    private readonly SlotWorkspace room;
    private readonly SearchGround ground;
    private readonly DiaryRules rules;
    private readonly LessonWish wish;
    private readonly long length;
    private readonly long now;
    private readonly long noticeEnds;
    private readonly LocalDate lastDate;
    private readonly bool lengthIsOffered;
    private BestStarts best;
    private int found;
    private long earliest = long.MaxValue;
    private PreparedDay day;
    private int dayNumber;

    // The limit that stands in the way of every lesson on the day.
    private SlotRule? limit;

    public SlotKernel(SlotWorkspace room, SearchGround ground, Instant now, LessonWish wish, BestStarts best)
    {
        (this.room, this.ground, this.wish, rules, day) = (room, ground, wish, ground.Rules, null!);
        this.best = best;
        length = wish.Minutes * NodaConstants.TicksPerMinute;
        this.now = now.ToUnixTimeTicks();
        noticeEnds = this.now + (rules.NoticeToBookHours * NodaConstants.TicksPerHour);
        lastDate = now.InZone(ground.Zone).Date.PlusDays(rules.HorizonDays);
        lengthIsOffered = SlotJudge.LengthIsOffered(wish, rules);
    }

    public SlotTally Finish()
    {
        best.Sort();
        return new(best.Count, found, found == 0 ? null : Instant.FromUnixTimeTicks(earliest));
    }

    public void Look(PreparedDay at, int number)
    {
        (day, dayNumber) = (at, number);
        if (day.Spans.Length == 0)
        {
            room.Refuse(SlotRule.OutsideWorkingHours, 1);
        }

        var first = day.StartsBefore(now);
        room.Refuse(SlotRule.InThePast, first);
        if (first < day.Starts.Length && !lengthIsOffered)
        {
            room.Refuse(SlotRule.LengthNotOffered, day.Starts.Length - first);
            return;
        }
        if (wish.NoticeApplies)
        {
            var noticed = Math.Max(first, day.StartsBefore(noticeEnds));
            room.Refuse(SlotRule.InsideNotice, noticed - first);
            first = noticed;
        }
        if (first == day.Starts.Length)
        {
            return;
        }

        if (RuleOfDate() is { } rule)
        {
            room.Refuse(rule, day.Starts.Length - first);
        }
        else
        {
            LookWithinHours(first);
        }
    }

    private readonly SlotRule? RuleOfDate() =>
        wish.NoticeApplies && day.Date > lastDate ? SlotRule.BeyondHorizon
        : SlotJudge.RuleOfPeople(wish.Pupil, day.Instructor, day.Date, rules);

    private void LookWithinHours(int first)
    {
        limit = Weeks.Minutes(wish.Pupil.Lessons, day.Week, wish.MovingLessonId) + wish.Minutes > wish.Pupil.WeeklyMinutes ? SlotRule.WeeklyLimit
            : day.Taught + wish.Minutes > day.Instructor.DailyLimit(rules) ? SlotRule.DailyLimit
            : null;
        var outside = day.Starts.Length - first;
        foreach (var span in day.Spans)
        {
            var from = Math.Max(first, day.StartsBefore(span.Start));
            var until = day.StartsBefore(span.End - length + 1);
            if (from >= until)
            {
                continue;
            }

            outside -= until - from;
            LookBesideTimeOff(from, until);
        }
        room.Refuse(SlotRule.OutsideWorkingHours, outside);
    }

    private void LookBesideTimeOff(int from, int until)
    {
        foreach (var off in day.TimeOff)
        {
            var (off1, off2) = Forbidden(off);
            if (off2 <= from || off1 >= until)
            {
                continue;
            }

            if (off1 > from)
            {
                LookBetweenEntries(from, off1);
            }

            room.Refuse(SlotRule.TimeOff, Math.Min(off2, until) - Math.Max(off1, from));
            from = Math.Max(from, off2);
            if (from >= until)
            {
                return;
            }
        }
        LookBetweenEntries(from, until);
    }

    private void LookBetweenEntries(int from, int until)
    {
        var busy = until - from;
        for (var i = 0; i < day.Openings.Length; i++)
        {
            var opening = day.Openings[i];
            // The last start of the run is before the opening, or the first is after it.
            if (opening.From > day.Starts[until - 1])
            {
                break;
            }

            if (opening.Until - length < Math.Max(opening.From, day.Starts[from]))
            {
                continue;
            }

            var first = Math.Max(from, day.StartsBefore(opening.From));
            var end = Math.Min(until, day.StartsBefore(opening.Until - length + 1));
            if (first >= end)
            {
                continue;
            }

            busy -= end - first;
            LookBesidePupilsLessons(opening, first, end);
        }
        room.Refuse(SlotRule.InstructorBusy, busy);
    }

    private void LookBesidePupilsLessons(Opening opening, int from, int until)
    {
        foreach (var lesson in room.PupilLessons)
        {
            if (lesson.Start >= day.Starts[until - 1] + length)
            {
                break;
            }

            if (lesson.End <= day.Starts[from])
            {
                continue;
            }

            var (taken1, taken2) = Forbidden(lesson);
            if (taken1 > from)
            {
                LookUnderLimits(opening, from, taken1);
            }

            if (taken2 > from)
            {
                room.Refuse(SlotRule.PupilBusy, Math.Min(taken2, until) - Math.Max(taken1, from));
            }

            from = Math.Max(from, taken2);
            if (from >= until)
            {
                return;
            }
        }
        LookUnderLimits(opening, from, until);
    }

    /// <summary>The starts at which the lesson would overlap a period.</summary>
    private readonly (int From, int Until) Forbidden(Ticks period) =>
        (day.StartsBefore(period.Start - length + 1), day.StartsBefore(period.End));

    private void LookUnderLimits(Opening opening, int from, int until)
    {
        if (limit is { } rule)
        {
            room.Refuse(rule, until - from);
        }
        else
        {
            LookByTheHour(opening, from, until);
        }
    }

    private void LookByTheHour(Opening opening, int from, int until)
    {
        var legBefore = opening.Before is { } before ? room.ToPickUp(before.Place, before.Leaving, wish) : 0;
        while (from < until)
        {
            var start = day.Starts[from];
            var (leaving, same) = day.HourAt(start + length);
            var next = Math.Min(until, day.StartsBefore(same == long.MaxValue ? same : same - length));
            var leavesInHours = true;
            if (opening.Before is null)
            {
                (legBefore, var same1, leavesInHours) = FirstDrive(start);
                next = Math.Min(next, day.StartsBefore(same1));
            }
            var legAfter = room.FromDropOff(opening.After?.Place ?? day.Base, leaving, wish);
            if (leavesInHours || !rules.FirstLegIsWork)
            {
                LookBetweenDrives(new(opening, legBefore, legAfter, rules, day), from, next);
            }
            else
            {
                room.Refuse(SlotRule.NoTimeToGetThere, next - from);
            }

            from = next;
        }
    }

    /// <summary>The drive from base that leaves as late as it can: its minutes, from which start on it is another, and whether the hour in which
    /// it leaves reaches into working hours.</summary>
    private readonly (int Leg, long Same, bool LeavesInHours) FirstDrive(long start)
    {
        var buffer = rules.BufferMinutes * NodaConstants.TicksPerMinute;
        var by = start - buffer;
        var hour = day.HourOfLeaving(by);
        // The moment of arrival from which on an hour later than the one chosen is in time.
        var later = long.MaxValue;
        for (var next = hour.Until; next < later;)
        {
            var after = day.HourOfLeaving(next);
            later = Math.Min(later, after.Begins + (room.ToPickUp(day.Base, after.Local, wish) * NodaConstants.TicksPerMinute));
            next = after.Until;
        }

        while (true)
        {
            var leg = room.ToPickUp(day.Base, hour.Local, wish);
            var first = hour.Begins + (leg * NodaConstants.TicksPerMinute);
            if (first <= by)
            {
                return (leg, later + buffer, hour.Until > day.WorkBegins);
            }

            later = Math.Min(later, first);
            hour = day.HourOfLeaving(hour.Begins - NodaConstants.TicksPerMinute);
        }
    }

    private void LookBetweenDrives(in Drives drives, int from, int until)
    {
        var first = Math.Clamp(day.StartsBefore(day.After(drives.From, drives.NeedBefore)), from, until);
        var end = Math.Clamp(day.StartsBefore(day.Before(drives.Until, drives.NeedAfter) - length + 1), first, until);
        room.Refuse(SlotRule.NoTimeToGetThere, until - from - (end - first));
        if (first == end)
        {
            return;
        }

        if (rules.RestMinutes == 0)
        {
            LookForCar(drives, first, end);
            return;
        }

        var (one, other) = TurnsOfRest(drives);
        var turn1 = Math.Clamp(day.StartsBefore(Math.Min(one, other)), first, end);
        var turn2 = Math.Clamp(day.StartsBefore(Math.Max(one, other)), first, end);
        LookAtRest(drives, first, turn1);
        LookAtRest(drives, turn1, turn2);
        LookAtRest(drives, turn2, end);
    }

    /// <summary>From when on the lesson has a rest before it, and from when on it has none after it any more.</summary>
    private readonly (long Before, long After) TurnsOfRest(in Drives drives)
    {
        var before = drives.Opening.Worked.RestedFrom(drives.LegBefore) ?? long.MinValue;
        var (driving, placed) = (0, false);
        for (var i = drives.Opening.Item; i < day.Work.Length; i++)
        {
            driving += placed || !day.Work[i].Entry!.IsPlaced ? day.Work[i].DriveTo : drives.LegAfter;
            placed |= day.Work[i].Entry!.IsPlaced;
            if (day.Work[i].IsLesson)
            {
                var last = day.Work[i].During.Start.ToUnixTimeTicks() - (((long)driving + rules.RestMinutes) * NodaConstants.TicksPerMinute);
                return (before, last - length + 1);
            }
        }
        return (before, long.MaxValue);
    }

    private void LookAtRest(in Drives drives, int from, int until)
    {
        if (from == until)
        {
            return;
        }

        if (HasRests(drives, day.Starts[from]))
        {
            LookForCar(drives, from, until);
        }
        else
        {
            room.Refuse(SlotRule.RestNeeded, until - from);
        }
    }

    private readonly bool HasRests(in Drives drives, long start)
    {
        var count = drives.Opening.Worked;
        if (drives.Opening.RestIsLacking || !count.Goes(start, start + length, isLesson: true, drives.LegBefore))
        {
            return false;
        }

        var placed = false;
        for (var i = drives.Opening.Item; i < day.Work.Length; i++)
        {
            var item = day.Work[i];
            if (!count.Goes(item, placed || !item.Entry!.IsPlaced ? item.DriveTo : drives.LegAfter))
            {
                return false;
            }

            placed |= item.Entry!.IsPlaced;
        }
        return true;
    }

    private void LookForCar(in Drives drives, int from, int until)
    {
        var step = day.CarsAreFree ? until - from : 1;
        for (; from < until; from += step)
        {
            var start = Instant.FromUnixTimeTicks(day.Starts[from]);
            var (carId, broken) = day.Cars.Choose(
                new(start, start + Duration.FromTicks(length)), day.Date, wish.Pupil.Gearbox, wish.Pupil.NeedsDualControls,
                drives.Opening.Before?.CarId, drives.Opening.After?.CarId);
            if (broken is { } rule)
            {
                room.Refuse(rule, step);
            }
            else
            {
                Offer(drives, from, from + step, carId);
            }
        }
    }

    private void Offer(in Drives drives, int from, int until, Guid carId)
    {
        found += until - from;
        earliest = Math.Min(earliest, day.Starts[from]);
        for (; from < until && !best.Shuts(drives.Extra); from++)
        {
            var start = day.Starts[from];
            var before = day.Left(drives.From, start, drives.NeedBefore);
            var after = day.Left(start + length, drives.Until, drives.NeedAfter);
            var unusable = (before < ground.ShortestLesson ? before : 0) + (after < ground.ShortestLesson ? after : 0);
            var fills = before + after < rules.GridMinutes && drives.Opening.Before is not null && drives.Opening.After is { } next
                ? next.Moment
                : 0;
            best.Add(new(start, dayNumber, carId, drives.Extra, unusable, fills));
        }
    }
}
