using NodaTime;
using School.Core.Pupils;

namespace School.Core.Diary;

/// <summary>Sums over the week, Monday to Sunday (ISO 8601), in which a date lies.</summary>
internal static class Weeks
{
    /// <summary>Lesson minutes of the lessons that start in the week of a date, part minutes rounded up.</summary>
    public static int Minutes(IEnumerable<PupilLesson> lessons, LocalDate date, DateTimeZone zone)
    {
        var monday = date.PlusDays(1 - (int)date.DayOfWeek);
        var week = new Stretch(
            monday.AtStartOfDayInZone(zone).ToInstant(), monday.PlusWeeks(1).AtStartOfDayInZone(zone).ToInstant());
        return lessons
            .Where(lesson => lesson.CountsInWeek && lesson.During.Start >= week.Start && lesson.During.Start < week.End)
            .Aggregate(Duration.Zero, (sum, lesson) => sum + lesson.During.Duration)
            .CeilingMinutes();
    }
}

internal static class DurationMinutes
{
    /// <summary>Whole minutes, rounded down.</summary>
    public static int WholeMinutes(this Duration duration) => (int)Math.Floor(duration.TotalMinutes);

    /// <summary>Whole minutes, rounded up.</summary>
    public static int CeilingMinutes(this Duration duration) => (int)Math.Ceiling(duration.TotalMinutes);
}
