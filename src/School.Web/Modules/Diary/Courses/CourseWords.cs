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

    /// <summary>How much of it fits, what stands in the way and what would help.</summary>
    public static string NoRoom(CourseRequest ask, CoursePlan plan, BookingAsked asked, IReadOnlyList<CourseHoliday> holidays, bool keptTimes, string? own)
    {
        var when = $"between {ScreenWords.Day(ask.From)} and {ScreenWords.Day(ask.To)}";
        var fits = plan.Minutes == 0
            ? $"No lesson of a course with {asked.Instructor.Name} fits {when}."
            : $"Only {ScreenWords.Length(plan.Minutes)} of the {ScreenWords.Length(ask.Minutes)} fit {when} with {asked.Instructor.Name}, at most {ScreenWords.Length(ask.MostMinutesADay)} a day.";
        List<string> why = [.. own is null ? [] : new[] { own }];
        if (plan.InTheWay.OrderByDescending(rule => rule.Value).ThenBy(rule => rule.Key).Select(rule => (SlotRule?)rule.Key).FirstOrDefault() is { } most)
        {
            why.Add($"On days without a lesson, most often: {ObstacleWords.Of(most).ToStaff}");
        }

        if (asked.Pupil.WeeklyMinutes is { } weekly)
        {
            why.Add($"The pupil has at most {ScreenWords.Length(weekly)} a week.");
        }

        if (keptTimes)
        {
            why.Add("The pupil comes only at the times that are recorded.");
        }

        if (holidays.Count > 0)
        {
            why.Add($"Left out: {string.Join(", ", holidays.Select(holiday => $"{ScreenWords.Day(holiday.Date)} ({holiday.Name})"))}.");
        }

        return string.Join(' ', [fits, .. why, "Give it more days or more hours a day, or plan fewer hours."]);
    }

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
