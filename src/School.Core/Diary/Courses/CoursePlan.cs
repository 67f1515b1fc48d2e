using NodaTime;
using School.Core.Diary.Slots;
using School.Core.Pupils;

namespace School.Core.Diary.Courses;

/// <summary>A course somebody would like to have: many hours on few days, one lesson on each.</summary>
/// <param name="Lesson">Whose, where, of which kind and between which dates; its minutes are not read.</param>
/// <param name="Minutes">Minutes of teaching in all.</param>
/// <param name="MostADay">The most minutes of teaching on one day, the pupil's other lessons of that day counted in.</param>
/// <param name="Available">When in the week the pupil can come; empty where that is not known, and then every time will do.</param>
/// <param name="LeftOut">Dates on which there is to be no lesson.</param>
public sealed record CourseWish(LessonWish Lesson, int Minutes, int MostADay, IReadOnlyList<AvailableTime> Available, IReadOnlyCollection<LocalDate> LeftOut)
{
    /// <summary>The shortest lesson of a course where the school names no lengths for its kind, in minutes: common practice, no source.</summary>
    public const int ShortestMinutes = 60;

    /// <summary>Then the lengths are this many minutes apart.</summary>
    public const int StepMinutes = 30;

    /// <summary>The lengths that a lesson of it can have, shortest first: those that the school names for its kind, else every half hour from an hour on.</summary>
    /// <param name="rules">The school's rules.</param>
    public IReadOnlyList<int> Lengths(DiaryRules rules) => LengthsOf(rules, Lesson.Kind, MostADay);

    /// <summary>The same before the rest of the wish is known.</summary>
    /// <param name="rules">The school's rules.</param>
    /// <param name="kind">The kind of its lessons.</param>
    /// <param name="mostADay">The most minutes of teaching on one day.</param>
    public static IReadOnlyList<int> LengthsOf(DiaryRules rules, LessonKind kind, int mostADay)
    {
        ArgumentNullException.ThrowIfNull(rules);
        var own = rules.KindOf(kind).Minutes;
        var all = own.Count > 0 ? own.Order() : Enumerable.Range(0, ((LessonPlan.LongestElapsed - ShortestMinutes) / StepMinutes) + 1).Select(step => ShortestMinutes + (step * StepMinutes));
        return [.. all.Where(minutes => minutes <= mostADay && LessonPlan.Of(minutes, rules).Elapsed <= LessonPlan.LongestElapsed)];
    }
}

/// <summary>Which hours lessons of some lengths can make up.</summary>
public static class CourseSums
{
    /// <summary>The nearest sums of so many lessons as one likes: below or just the minutes asked for, and above or just these.</summary>
    /// <param name="lengths">The lengths, at least one; each may be taken any number of times.</param>
    /// <param name="minutes">Minutes asked for.</param>
    /// <returns>The same number twice where they can be made up; below is 0 where all lessons are longer.</returns>
    public static (int Below, int Above) Nearest(IReadOnlyList<int> lengths, int minutes)
    {
        ArgumentNullException.ThrowIfNull(lengths);
        var most = minutes + lengths.Min();
        var made = new bool[most + 1];
        made[0] = true;
        for (var sum = 1; sum <= most; sum++)
        {
            made[sum] = lengths.Any(length => length <= sum && made[sum - length]);
        }

        // Another of the shortest lifts any sum over the minutes by less than its length.
        return (Array.LastIndexOf(made, true, minutes), Array.IndexOf(made, true, minutes));
    }
}

/// <summary>What a course comes to; compared from left to right, less is better.</summary>
/// <param name="Days">Days with a lesson.</param>
/// <param name="Unevenness">The squares of the minutes of teaching of its days, added: least where they are alike.</param>
/// <param name="ExtraDriving">Minutes of driving that it adds.</param>
/// <param name="Lateness">How many days after the first date each of its days lies, added.</param>
public readonly record struct CourseCost(int Days, long Unevenness, int ExtraDriving, int Lateness) : IComparable<CourseCost>
{
    /// <summary>With one more lesson.</summary>
    internal CourseCost With(int minutes, int extraDriving, int day) =>
        new(Days + 1, Unevenness + ((long)minutes * minutes), ExtraDriving + extraDriving, Lateness + day);

    /// <inheritdoc/>
    public int CompareTo(CourseCost other) =>
        Days != other.Days ? Days.CompareTo(other.Days)
        : Unevenness != other.Unevenness ? Unevenness.CompareTo(other.Unevenness)
        : ExtraDriving != other.ExtraDriving ? ExtraDriving.CompareTo(other.ExtraDriving)
        : Lateness.CompareTo(other.Lateness);

    /// <summary>Whether it is the better.</summary>
    public static bool operator <(CourseCost one, CourseCost other) => one.CompareTo(other) < 0;

    /// <summary>Whether it is the worse.</summary>
    public static bool operator >(CourseCost one, CourseCost other) => one.CompareTo(other) > 0;

    /// <summary>Whether it is no worse.</summary>
    public static bool operator <=(CourseCost one, CourseCost other) => one.CompareTo(other) <= 0;

    /// <summary>Whether it is no better.</summary>
    public static bool operator >=(CourseCost one, CourseCost other) => one.CompareTo(other) >= 0;
}

/// <summary>One lesson of a course.</summary>
/// <param name="Date">Its date.</param>
/// <param name="Offer">When, in which car and with which rests.</param>
public sealed record CourseLesson(LocalDate Date, SlotOffer Offer);

/// <summary>The best course there is, of all that was asked for or of as much as fits.</summary>
/// <param name="Lessons">By date, at most one on each.</param>
/// <param name="Cost">What they come to.</param>
/// <param name="InTheWay">Of the dates on which not even the shortest lesson fits: each rule with the starts that it was the first to refuse.</param>
public sealed record CoursePlan(IReadOnlyList<CourseLesson> Lessons, CourseCost Cost, IReadOnlyDictionary<SlotRule, int> InTheWay)
{
    /// <summary>The same of the dates on which some lesson fits and a longer one was allowed: what refuses the next longer one.</summary>
    public IReadOnlyDictionary<SlotRule, int> InTheWayOfMore { get; init; } = new Dictionary<SlotRule, int>();

    /// <summary>Minutes of teaching in all.</summary>
    public int Minutes => Lessons.Sum(lesson => lesson.Offer.Plan.Minutes);
}
