using NodaTime;

namespace School.Core.Syllabus.Readiness;

/// <summary>A forecast as it would have been, beside what came true.</summary>
/// <param name="Pupil">Which of the courses, from 0.</param>
/// <param name="Quarter">0 before the first lesson, 1 to 3 after that many quarters of the hours taught.</param>
/// <param name="On">The day of the forecast.</param>
/// <param name="Forecast">What would have been said.</param>
/// <param name="HoursToCome">Lesson hours that were then still taken.</param>
/// <param name="WeeksToCome">Weeks that then still passed.</param>
public sealed record BacktestPoint(int Pupil, int Quarter, LocalDate On, ReadinessForecast Forecast, double HoursToCome, double WeeksToCome)
{
    /// <summary>How far the median was from what came true, in lesson hours.</summary>
    public double Error => Math.Abs(Forecast.LessonHours.Median - HoursToCome);

    /// <summary>How far the published average, less the hours already taught, was from it.</summary>
    public double FixedError => Math.Abs(Math.Max(0, Experience.PublishedLessonHours - Forecast.Taught) - HoursToCome);
}

/// <summary>What the backtest says of one quarter.</summary>
/// <param name="Quarter">0 to 3, as <see cref="BacktestPoint.Quarter"/>.</param>
/// <param name="Pupils">How many pupils it rests on.</param>
/// <param name="Inside">For how many the truth lay in the range of hours.</param>
/// <param name="MedianError">The median absolute error in lesson hours.</param>
/// <param name="MeanError">The mean absolute error.</param>
/// <param name="FixedMeanError">The same of the published average less the hours taught.</param>
public sealed record BacktestSummary(int Quarter, int Pupils, int Inside, double MedianError, double MeanError, double FixedMeanError)
{
    /// <summary>The share of pupils whose truth lay in the range; four in five is right.</summary>
    public double Coverage => (double)Inside / Pupils;
}

/// <summary>What would have been forecast of finished pupils at each quarter of their course.</summary>
public static class Backtest
{
    /// <summary>Quarters at which forecasts are looked at, with the beginning.</summary>
    public const int Quarters = 4;

    /// <summary>Forecasts of each course, knowing of other pupils only those whose course had ended before that day.</summary>
    /// <param name="courses">Of finished pupils; those without lessons are passed over, and quarters at which no lesson was to come.</param>
    /// <param name="terms">What counts.</param>
    /// <exception cref="ArgumentException">As <see cref="Course.Points"/>.</exception>
    public static IReadOnlyList<BacktestPoint> Of(IReadOnlyList<Course> courses, ReadinessTerms terms)
    {
        ArgumentNullException.ThrowIfNull(courses);
        var ends = courses.Select(course => FinishedCourse.Of(course, terms)).ToList();
        var points = new List<BacktestPoint>();
        for (var pupil = 0; pupil < courses.Count; pupil++)
        {
            if (ends[pupil] is not { } end)
            {
                continue;
            }

            for (var quarter = 0; quarter < Quarters; quarter++)
            {
                // In a course of a few lessons the last may come before its last quarter: then there was nothing left to foretell. Sums of hours miss by far less than a second.
                if (At(pupil, quarter, courses[pupil], end) is { HoursToCome: > 1.0 / 3600 } point)
                {
                    points.Add(point);
                }
            }
        }

        return points;

        BacktestPoint At(int pupil, int quarter, Course course, FinishedCourse end)
        {
            var lessons = LessonsBy(course, end.LessonHours * quarter / Quarters);
            var on = course.Lessons[Math.Max(0, lessons - 1)].On;
            var known = course.First(lessons);
            var before = ends.OfType<FinishedCourse>().Where(other => other.On < on).ToList();
            var forecast = ReadinessForecast.Of(known, on, terms, Experience.Of(terms, before));
            return new(pupil, quarter, on, forecast, end.LessonHours - known.LessonHours, Period.DaysBetween(on, end.On) / 7.0);
        }
    }

    /// <summary>What the points say of each quarter, in their order; a quarter without points is left out.</summary>
    public static IReadOnlyList<BacktestSummary> Summarise(IEnumerable<BacktestPoint> points) =>
    [
        .. points.GroupBy(point => point.Quarter).OrderBy(group => group.Key).Select(group => new BacktestSummary(
            group.Key,
            group.Count(),
            group.Count(point => point.Forecast.LessonHours.Holds(point.HoursToCome)),
            Median([.. group.Select(point => point.Error).Order()]),
            group.Average(point => point.Error),
            group.Average(point => point.FixedError))),
    ];

    /// <summary>How many of so many pupils lie in the range in all but one case of twenty, if four in five do in the long run.</summary>
    /// <param name="pupils">0 or more.</param>
    public static (int Least, int Most) InsideByChance(int pupils)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(pupils);
        return (Quantile(0.025), Quantile(0.975));

        int Quantile(double chance)
        {
            // The binomial law, term by term; in logarithms, since the first ones are small.
            var logTerm = pupils * Math.Log(0.2);
            var (inside, sum) = (0, Math.Exp(logTerm));
            while (sum < chance && inside < pupils)
            {
                logTerm += Math.Log(4.0 * (pupils - inside) / (inside + 1));
                inside++;
                sum += Math.Exp(logTerm);
            }

            return inside;
        }
    }

    private static int LessonsBy(Course course, double hours)
    {
        var (lessons, taught) = (0, 0.0);
        while (taught < hours - 1e-9)
        {
            taught += course.Lessons[lessons++].Minutes / 60.0;
        }

        return lessons;
    }

    private static double Median(IReadOnlyList<double> ordered) =>
        (ordered[(ordered.Count - 1) / 2] + ordered[ordered.Count / 2]) / 2;
}
