using NodaTime;
using School.Core.Pupils;

namespace School.Core.Diary.Time;

/// <summary>Sums over the week, Monday to Sunday (ISO 8601), in which a date lies.</summary>
internal static class Weeks
{
    /// <summary>The week of a date.</summary>
    public static Stretch Of(LocalDate date, DateTimeZone zone)
    {
        var monday = date.PlusDays(1 - (int)date.DayOfWeek);
        return new(monday.AtStartOfDayInZone(zone).ToInstant(), monday.PlusWeeks(1).AtStartOfDayInZone(zone).ToInstant());
    }

    /// <summary>Lesson minutes of the lessons that start in a week, part minutes rounded up.</summary>
    /// <param name="lessons">Lessons of any time.</param>
    /// <param name="week">The week.</param>
    /// <param name="leftOut">A lesson that does not count.</param>
    public static int Minutes(IReadOnlyList<PupilLesson> lessons, Stretch week, Guid? leftOut)
    {
        var sum = Duration.Zero;
        for (var i = 0; i < lessons.Count; i++)
        {
            var lesson = lessons[i];
            if (lesson.CountsInWeek && lesson.Id != leftOut && lesson.During.Start >= week.Start && lesson.During.Start < week.End)
            {
                sum += lesson.During.Duration - Duration.FromMinutes(lesson.BreakMinutes);
            }
        }
        return sum.CeilingMinutes();
    }
}

internal static class DurationMinutes
{
    /// <summary>Whole minutes, rounded down.</summary>
    public static int WholeMinutes(this Duration duration) => (int)Math.Floor(duration.TotalMinutes);

    /// <summary>Whole minutes, rounded up.</summary>
    public static int CeilingMinutes(this Duration duration) => (int)Math.Ceiling(duration.TotalMinutes);
}
