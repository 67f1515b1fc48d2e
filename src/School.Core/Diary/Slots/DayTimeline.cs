using NodaTime;
using School.Core.Travel;

namespace School.Core.Diary.Slots;

/// <summary>One instructor's local date: working spans, what is taken, and the gaps between placed entries.</summary>
/// <remarks>Holds every entry that touches the date, and the time off within it. Blocked is what keeps the instructor from driving:
/// time off and entries without a place.</remarks>
internal sealed class DayTimeline
{
    public DayTimeline(DateTimeZone zone, InstructorDiary diary, LocalDate date, Guid? leftOut = null)
    {
        Date = date;
        Day = new(date.AtStartOfDayInZone(zone).ToInstant(), date.PlusDays(1).AtStartOfDayInZone(zone).ToInstant());
        Spans = Stretch.Merge(diary.Hours.Where(hours => hours.AppliesOn(date)).Select(hours => Stretch.Of(hours.During(date, zone)).Within(Day)));
        TimeOff = Stretch.Merge(diary.TimeOff.Select(off => Stretch.Of(off).Within(Day)));
        Entries = [.. diary.Entries
            .Where(entry => entry.Id != leftOut && Day.Overlaps(Stretch.Of(entry.During)))
            .OrderBy(entry => entry.During.Start).ThenBy(entry => entry.During.End).ThenBy(entry => entry.Id)];
        Blocked = Stretch.Merge(TimeOff.Concat(Entries.Where(entry => !entry.IsPlaced).Select(entry => Stretch.Of(entry.During))));
        Taught = Lessons.Aggregate(Duration.Zero, (sum, lesson) => sum + lesson.Taught);
        Gaps = GapsBetween([.. Entries.Where(entry => entry.IsPlaced)]);
    }

    public LocalDate Date { get; }

    public Stretch Day { get; }

    /// <summary>Working hours as moments, adjacent spans merged.</summary>
    public List<Stretch> Spans { get; }

    public List<Stretch> TimeOff { get; }

    /// <summary>In order of start.</summary>
    public List<DiaryEntry> Entries { get; }

    public List<Stretch> Blocked { get; }

    /// <summary>Before, between and after the placed entries: one more than there are.</summary>
    public List<Gap> Gaps { get; }

    /// <summary>The lessons that start on the date.</summary>
    public IEnumerable<DiaryEntry> Lessons =>
        Entries.Where(entry => entry.Kind == EntryKind.Lesson && entry.During.Start >= Day.Start);

    public Duration Taught { get; }

    public Instant WorkBegins => Spans.Count > 0 ? Spans[0].Start : Day.Start;

    public Instant WorkEnds => Spans.Count > 0 ? Spans[^1].End : Day.End;

    public bool IsInsideOneSpan(Stretch lesson) => Spans.Exists(span => span.Covers(lesson));

    public bool IsTimeOff(Stretch lesson) => TimeOff.Exists(lesson.Overlaps);

    public bool IsTaken(Stretch lesson) => Entries.Exists(entry => lesson.Overlaps(Stretch.Of(entry.During)));

    /// <summary>The gap in which a free period lies.</summary>
    public Gap GapAt(Stretch free) => Gaps.Find(gap => gap.After is null || gap.After.During.Start >= free.End)!;

    /// <summary>Time from one moment to another less what is blocked in between; negative when they lie the wrong way round.</summary>
    public Duration Free(Instant from, Instant to) => to - from - Overlap(Blocked, new(from, to));

    /// <summary>The part of <see cref="Free"/> that is also within working hours; never negative.</summary>
    public Duration FreeWorking(Instant from, Instant to)
    {
        var sum = Duration.Zero;
        foreach (var span in Spans)
        {
            var part = span.Within(new(from, to));
            sum += part.Length - Overlap(Blocked, part);
        }
        return sum;
    }

    /// <summary>When a drive that may begin at a moment is over, if it pauses wherever time is blocked.</summary>
    public Instant Arrival(Instant from, Duration drive)
    {
        var at = from;
        foreach (var block in Blocked.Where(block => block.End > from))
        {
            if (at + drive <= block.Start)
            {
                break;
            }

            if (block.Start > at)
            {
                drive -= block.Start - at;
            }

            at = block.End;
        }
        return at + drive;
    }

    /// <summary>The local times of the grid within working hours as moments: none where the clock skips one, two where it
    /// repeats one.</summary>
    public IEnumerable<Instant> GridStarts(DateTimeZone zone, int gridMinutes)
    {
        var steady = zone.GetZoneInterval(Day.Start) is var interval && interval.Contains(Day.End - Duration.Epsilon)
            && Day.Length == Duration.FromDays(1);
        for (var minute = 0; minute < NodaConstants.MinutesPerDay; minute += gridMinutes)
        {
            if (steady)
            {
                var start = Day.Start + Duration.FromMinutes(minute);
                if (IsWorking(start))
                {
                    yield return start;
                }

                continue;
            }
            var mapping = zone.MapLocal(Date.At(LocalTime.FromMinutesSinceMidnight(minute)));
            if (mapping.Count > 0 && IsWorking(mapping.First().ToInstant()))
            {
                yield return mapping.First().ToInstant();
            }

            if (mapping.Count > 1 && IsWorking(mapping.Last().ToInstant()))
            {
                yield return mapping.Last().ToInstant();
            }
        }
    }

    private bool IsWorking(Instant moment) => Spans.Exists(span => span.Start <= moment && moment < span.End);

    /// <summary>Lessons, stretch by stretch where they have rests, and placed entries in order, with the leg to each.</summary>
    public List<WorkItem> Work(Coordinates home, Legs legs, DiaryRules rules)
    {
        var items = new List<WorkItem>(Entries.Count + 1);
        DiaryEntry? before = null;
        foreach (var entry in Entries.Where(entry => entry.IsPlaced || entry.Kind == EntryKind.Lesson))
        {
            var (drive, goesOn) = (0, false);
            if (entry.IsPlaced)
            {
                drive = before is null
                    ? legs.First(home, entry, rules).Leg.Minutes
                    : legs.Minutes(before.Ends!.Value, entry.Begins!.Value, before.During.End);
                before = entry;
            }
            foreach (var stretch in entry.Stretches())
            {
                items.Add(new(stretch, entry.Kind == EntryKind.Lesson, drive, entry, goesOn));
                (drive, goesOn) = (0, true);
            }
        }
        return items;
    }

    /// <summary>How much free working time a first drive needs that is work: its leg and the buffer, and where it would leave before the hours begin all from there on.</summary>
    public Duration NeedFirst(FirstDrive drive, Instant start, DiaryRules rules) => drive.Leaves < WorkBegins
        ? start - drive.Leaves
        : Duration.FromMinutes(drive.Leg.Minutes + rules.BufferMinutes);

    private static Duration Overlap(List<Stretch> stretches, Stretch bounds)
    {
        var sum = Duration.Zero;
        foreach (var stretch in stretches)
        {
            sum += stretch.Within(bounds).Length;
        }

        return sum;
    }

    private static List<Gap> GapsBetween(List<DiaryEntry> placed)
    {
        var gaps = new List<Gap>(placed.Count + 1);
        DiaryEntry? before = null;
        foreach (var entry in placed)
        {
            gaps.Add(new(before, entry));
            // Entries that overlap (a diary already broken) are left from where the instructor is last.
            if (before is null || entry.During.End >= before.During.End)
            {
                before = entry;
            }
        }
        gaps.Add(new(before, null));
        return gaps;
    }
}

/// <summary>The time between two neighbouring placed entries; null stands for the instructor's base.</summary>
internal sealed record Gap(DiaryEntry? Before, DiaryEntry? After)
{
    /// <summary>Minutes of the drive across it.</summary>
    public int DirectLeg(Coordinates home, Legs legs, DiaryRules rules) => (Before, After) switch
    {
        ({ } before, _) => legs.Minutes(before.Ends!.Value, After?.Begins ?? home, before.During.End),
        (null, { } after) => legs.First(home, after, rules).Leg.Minutes,
        _ => 0,
    };
}
