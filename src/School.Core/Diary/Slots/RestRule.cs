using NodaTime;

namespace School.Core.Diary.Slots;

/// <summary>Something in a day that is worked or driven to.</summary>
/// <param name="During">When.</param>
/// <param name="IsLesson">Whether it is work; otherwise only a place to be.</param>
/// <param name="DriveTo">Minutes of the leg that leads to it.</param>
/// <param name="Entry">The entry in the diary, if it has one yet.</param>
/// <param name="GoesOn">Whether it goes on with the lesson before it, after a rest of that.</param>
internal readonly record struct WorkItem(Stretch During, bool IsLesson, int DriveTo, DiaryEntry? Entry = null, bool GoesOn = false);

/// <summary>The rest rule.</summary>
/// <remarks>
/// Work is lessons (the stretches of one that has rests) and the legs between them; the first leg counts when the school says so and it leads to a lesson.
/// A rest within a lesson is one whatever the rules say now: it was agreed by those of its day.
/// A gap between two lessons holds a rest when the time in it that is not driven (free, off or busy) is at least
/// <see cref="DiaryRules.RestMinutes"/>; the rest is taken on arrival, so after it the count begins at nothing. When the
/// work since the last rest, up to the end of a lesson, is at least <see cref="DiaryRules.RestAfterMinutes"/> and another
/// lesson follows, the gap after it must hold a rest.
/// </remarks>
internal static class RestRule
{
    /// <summary>The first item that begins without a rest due before it; null when the day is fine.</summary>
    public static int? FirstWithoutRest(IReadOnlyList<WorkItem> day, DiaryRules rules)
    {
        var count = new RestCount(rules);
        for (var i = 0; i < day.Count; i++)
        {
            if (!count.Goes(day[i]))
            {
                return i;
            }
        }
        return null;
    }
}

/// <summary>The work since the last rest, item by item through a day. Times are ticks of 100 ns.</summary>
internal struct RestCount(DiaryRules rules)
{
    private readonly long rest = rules.RestMinutes * NodaConstants.TicksPerMinute;
    private readonly long limit = rules.RestAfterMinutes * NodaConstants.TicksPerMinute;
    private readonly bool firstLegIsWork = rules.FirstLegIsWork;
    private bool begun;
    private long worked;

    /// <summary>Minutes of driving since the last lesson ended.</summary>
    private long driving;

    /// <summary>When the last lesson ended; null before the first.</summary>
    private long? ended;

    /// <summary>From which start on the next lesson has a rest before it, when its own leg takes so many minutes; null when
    /// that does not matter.</summary>
    public readonly long? RestedFrom(int leg) => ended + (driving + leg) * NodaConstants.TicksPerMinute + rest;

    /// <summary>The work since the last rest, in ticks.</summary>
    public readonly long Worked => worked;

    /// <summary>Minutes of driving since the last lesson ended.</summary>
    public readonly long Driving => driving;

    /// <summary>When the last lesson ended; null before the first.</summary>
    public readonly long? LessonEnded => ended;

    /// <summary>Counts the next item; false when it begins without a rest that is due.</summary>
    public bool Goes(WorkItem item) => Goes(item, item.DriveTo);

    /// <summary>The same with another leg to it.</summary>
    public bool Goes(WorkItem item, int driveTo) => item.GoesOn
        ? GoesOn(item.During.Start.ToUnixTimeTicks(), item.During.End.ToUnixTimeTicks())
        : Goes(item.During.Start.ToUnixTimeTicks(), item.During.End.ToUnixTimeTicks(), item.IsLesson, driveTo);

    /// <summary>The next stretch of the same lesson, after a rest that was agreed.</summary>
    public bool GoesOn(long start, long end)
    {
        (worked, ended, driving) = (Math.Max(0, end - start), end, 0);
        return true;
    }

    /// <summary>The same by its times.</summary>
    public bool Goes(long start, long end, bool isLesson, int driveTo)
    {
        var isFirst = !begun;
        begun = true;
        driving += driveTo;
        if (!isLesson)
        {
            return true;
        }

        var drive = driving * NodaConstants.TicksPerMinute;
        if (ended is { } last)
        {
            if (start - last - drive >= rest)
            {
                worked = 0;
            }
            else if (worked >= limit && rest > 0)
            {
                return false;
            }
            else
            {
                worked += drive;
            }
        }
        else if (isFirst && firstLegIsWork)
        {
            worked = drive;
        }
        worked += Math.Max(0, end - start);
        (ended, driving) = (end, 0);
        return true;
    }
}
