using NodaTime;
using School.Core.Cars;
using School.Core.Diary.Courses;
using School.Core.Diary.Slots;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.Courses;

/// <summary>Courses in words.</summary>
internal static class CourseWords
{
    private const int MostNamed = 4;

    public static string Of(Gearbox gearbox) => gearbox == Gearbox.Manual ? "in a manual" : "in an automatic";

    /// <summary>How much of it fits.</summary>
    public static string Fits(CourseRequest ask, CoursePlan plan, BookingAsked asked)
    {
        var when = $"between {ScreenWords.Day(ask.From)} and {ScreenWords.Day(ask.To)}";
        return plan.Minutes == 0
            ? $"No lesson of a course with {asked.Instructor.Name} fits {when}."
            : $"Only {ScreenWords.Length(plan.Minutes)} of the {ScreenWords.Length(ask.Minutes)} fit {when} with {asked.Instructor.Name}, at most {ScreenWords.Length(ask.MostMinutesADay)} a day.";
    }

    /// <summary>What stands in the way: which rule, and what was asked for.</summary>
    public static IReadOnlyList<CourseReason> Reasons(CourseRequest ask, CoursePlan plan, BookingAsked asked, IReadOnlyList<CourseHoliday> holidays, bool keptTimes, string? own)
    {
        List<CourseReason> why = [.. own is null ? [] : new[] { new CourseReason("own_lessons", own) }];
        if (Most(plan.InTheWay) is { } most)
        {
            why.Add(new(most.Code(), $"On days without a lesson, most often: {ObstacleWords.Of(most).ToStaff}"));
        }

        if (Most(plan.InTheWayOfMore) is { } more)
        {
            why.Add(new(more.Code(), $"On days with a lesson, a longer one is stopped most often by this: {ObstacleWords.Of(more).ToStaff}"));
        }

        if (asked.Pupil.WeeklyMinutes is { } weekly)
        {
            why.Add(new(SlotRule.WeeklyLimit.Code(), $"The pupil has at most {ScreenWords.Length(weekly)} a week."));
        }

        if (keptTimes)
        {
            why.Add(new("pupil_not_available", "The pupil comes only at the times that are recorded."));
        }

        if (holidays.Count > 0)
        {
            why.Add(new("public_holidays", $"Left out: {string.Join(", ", holidays.Select(holiday => $"{ScreenWords.Day(holiday.Date)} ({holiday.Name})"))}."));
        }

        // Every day is as full as was asked for, and there are too few of them.
        return why.Count > 0 ? why : [new("most_minutes_a_day", $"Each day has room for the {ScreenWords.Length(ask.MostMinutesADay)} that were allowed, and not for more.")];
    }

    /// <summary>What would help, with the nearest of each sort.</summary>
    public static string Help(IReadOnlyList<CourseCure> cures) =>
        cures.Count == 0 ? "Neither a later last day, more hours a day nor a later first day would do alone: plan fewer hours." : $"All of it would fit {string.Join("; or ", cures.Select(cure => cure.Sentence))}.";

    /// <summary>The end of a sentence that begins with what would fit.</summary>
    public static string Cure(string code, CourseRequest other) => code switch
    {
        CourseCure.LaterLastDay => $"with {ScreenWords.Day(other.To)} as the last day",
        CourseCure.MoreADay => $"with up to {ScreenWords.Length(other.MostMinutesADay)} a day",
        _ => $"from {ScreenWords.Day(other.From)} to {ScreenWords.Day(other.To)}",
    };

    /// <summary>Hours outside work are in the way on every day, so anything else is told first.</summary>
    private static SlotRule? Most(IReadOnlyDictionary<SlotRule, int> rules) =>
        rules.OrderBy(rule => rule.Key is SlotRule.OutsideWorkingHours or SlotRule.InThePast).ThenByDescending(rule => rule.Value).ThenBy(rule => rule.Key).Select(rule => (SlotRule?)rule.Key).FirstOrDefault();

    /// <summary>That the pupil's own other lessons take room.</summary>
    public static string OfOwn(OwnLessons own, SchoolFacts school)
    {
        var named = own.Starts.Take(MostNamed).Select(school.Short).ToList();
        var more = own.Starts.Count > MostNamed ? $" and {own.Starts.Count - MostNamed} more" : "";
        return $"The pupil’s own other lessons take room ({string.Join("; ", named)}{more}): without them {ScreenWords.Length(own.WithoutMinutes)} would fit.";
    }

    /// <summary>Which hours its lessons can make up instead.</summary>
    public static string NoSum(CourseRequest ask, IReadOnlyList<int> own, IReadOnlyList<int> possible)
    {
        var lengths = own.Count == 0 ? "whole and half hours" : AnyOf(own.Where(minutes => minutes <= ask.MostMinutesADay).Order());
        return $"{ScreenWords.Length(ask.Minutes)} cannot be made up of lessons of {lengths}. {(possible.Count == 0 ? "Give the kind other lengths, or allow more hours a day." : $"Plan {AnyOf(possible)}.")}";
    }

    public static string TooFewADay(CourseRequest ask) =>
        $"Every intensive lesson of the school is longer than {ScreenWords.Length(ask.MostMinutesADay)}. Allow more hours a day.";

    /// <summary>"20 hours of teaching on 5 days".</summary>
    public static string Size(IReadOnlyList<CourseDay> days) => $"{ScreenWords.Length(days.Sum(day => day.Minutes))} of teaching on {Words.Count(days.Count, "day")}";

    private static string AnyOf(IEnumerable<int> lengths)
    {
        var all = lengths.Select(ScreenWords.Length).ToList();
        return all.Count == 1 ? all[0] : $"{string.Join(", ", all[..^1])} or {all[^1]}";
    }
}
