using NodaTime;

namespace School.Core.Diary.Slots;

// What hangs on the drives to a start and away from it: legs, rests and cars.
internal ref partial struct SlotKernel
{
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
                (legBefore, var sameDrive, leavesInHours) = FirstDrive(start);
                next = Math.Min(next, day.StartsBefore(sameDrive));
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
        if (drives.Opening.RestIsLacking || !count.Goes(start, start + plan.Stretch(0) * NodaConstants.TicksPerMinute, isLesson: true, drives.LegBefore))
        {
            return false;
        }

        // Between its stretches lie the rests that it needs, so of the others only the last bears on what follows.
        if (plan.Stretches > 1)
        {
            var last = plan.Stretch(plan.Stretches - 1) * NodaConstants.TicksPerMinute;
            count.GoesOn(start + length - last, start + length);
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
                new(start, start + Duration.FromTicks(length)), day.Date, wish.Pupil, isBound,
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
