using NodaTime;

namespace School.Core.Syllabus.Readiness;

/// <summary>Four times in five the truth lies between low and high, and as often below the median as above.</summary>
/// <param name="Low">One in ten lies below; never negative.</param>
/// <param name="Median">The middle.</param>
/// <param name="High">One in ten lies above.</param>
public readonly record struct ReadinessRange(double Low, double Median, double High)
{
    /// <summary>Whether a number lies in it, ends included.</summary>
    public bool Holds(double value) => value >= Low && value <= High;
}

/// <summary>How long a pupil may still take to be ready. Arithmetic on the record; the instructor decides.</summary>
/// <param name="LessonHours">Hours of lessons still to go, if private practice goes on as lately.</param>
/// <param name="Weeks">Calendar weeks still to go at the recent pace; null where there is none.</param>
/// <param name="NoWeeks">Why there are no weeks, in a sentence; null where there are.</param>
/// <param name="Taught">Hours taught so far.</param>
/// <param name="Practised">Hours of private practice so far, unweighted.</param>
/// <param name="HoursPerWeek">Lesson hours a week lately; null where there were none.</param>
/// <param name="Score">How far the levels have come, 0 to 1; null before the first mark.</param>
/// <param name="Ready">Whether every skill that counts stands at Independent or better on the record.</param>
/// <param name="Finished">How many finished pupils of the school the forecast leans on.</param>
public sealed record ReadinessForecast(
    ReadinessRange LessonHours,
    ReadinessRange? Weeks,
    string? NoWeeks,
    double Taught,
    double Practised,
    double? HoursPerWeek,
    double? Score,
    bool Ready,
    int Finished)
{
    /// <summary>The forecast on a day, from everything up to and including it.</summary>
    /// <param name="course">The pupil's lessons and practice.</param>
    /// <param name="on">The day.</param>
    /// <param name="terms">What counts.</param>
    /// <param name="experience">What the school may expect of a pupil.</param>
    /// <exception cref="ArgumentException">A lesson or practice lies after the day, or as <see cref="Course.Points"/>.</exception>
    public static ReadinessForecast Of(Course course, LocalDate on, ReadinessTerms terms, Experience experience)
    {
        ArgumentNullException.ThrowIfNull(course);
        ArgumentNullException.ThrowIfNull(terms);
        ArgumentNullException.ThrowIfNull(experience);
        var points = course.Points(terms);
        if (points.Any(point => point.On > on) || course.Practice.Any(time => time.On > on))
        {
            throw new ArgumentException("A forecast knows only what lies before it.", nameof(course));
        }

        var pace = Pace.Of(course, on, terms);
        var ready = points.Count > 0 && points[^1].Ready;
        var hours = course.LessonHours + (terms.PracticeWeight * course.PracticeHours);
        CoursePoint? seen = points.Any(point => point.Marked) ? points.Last(point => point.Marked) : null;
        var left = ready ? null : HoursLeft.Of(hours, seen, experience);
        var noWeeks = ready || pace.HoursPerWeek is not null ? null : Pace.NoneSentence;
        return new(
            left?.Range(pace.LessonShare) ?? default,
            noWeeks is not null ? null : left is null ? default(ReadinessRange) : pace.Weeks(left),
            noWeeks,
            course.LessonHours,
            course.PracticeHours,
            pace.HoursPerWeek,
            points.Count == 0 ? null : points[^1].Score,
            ready,
            experience.Finished);
    }
}
