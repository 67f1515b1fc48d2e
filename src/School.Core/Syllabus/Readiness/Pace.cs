using NodaTime;

namespace School.Core.Syllabus.Readiness;

/// <summary>How much a pupil drives lately.</summary>
/// <param name="HoursPerWeek">Lesson hours a week; null where there were none lately.</param>
/// <param name="LessonShare">The share of lessons in the counted hours, 0 to 1.</param>
internal sealed record Pace(double? HoursPerWeek, double LessonShare)
{
    /// <summary>Why there are no weeks.</summary>
    public const string NoneSentence = "There was no lesson in the last eight weeks, so there is no pace to reckon weeks with.";

    private const int RecentDays = 56;
    private const int LeastDays = 14;

    // Where little is known of a pupil's practice, the published averages stand in for so many hours of lessons.
    private const double PriorLessonHours = 3;

    // Pace to come over pace lately, as the variance of its logarithm: one part that stays, and one by the weeks ahead, for a week
    // without a lesson matters more the fewer are left. Common practice, no source.
    private const double LastingVariance = 0.155;
    private const double VarianceOfOneWeek = 1.96;

    // Middles of nine equally likely parts of a standard normal: Φ⁻¹((2k − 1) ÷ 18).
    private static readonly double[] Normal = [-1.5932, -0.9674, -0.5895, -0.2822, 0, 0.2822, 0.5895, 0.9674, 1.5932];

    /// <summary>The pace over the last eight weeks, or since the first lesson where that was later, but at least two weeks.</summary>
    public static Pace Of(Course course, LocalDate on, ReadinessTerms terms)
    {
        var from = on.PlusDays(-RecentDays);
        var lessons = course.Lessons.Where(lesson => lesson.On > from).Sum(lesson => lesson.Minutes) / 60.0;
        var practice = course.Practice.Where(time => time.On > from).Sum(time => time.Minutes) / 60.0;
        var weighted = terms.PracticeWeight * (practice + (PriorLessonHours * Experience.PublishedPracticeHours / Experience.PublishedLessonHours));
        var share = (lessons + PriorLessonHours) / (lessons + PriorLessonHours + weighted);
        if (lessons <= 0)
        {
            return new(null, share);
        }

        var days = Math.Clamp(Period.DaysBetween(course.Lessons[0].On, on) + 1, LeastDays, RecentDays);
        return new(lessons * 7 / days, share);
    }

    /// <summary>The 80 % range of weeks, when both the hours left and the pace to come are uncertain.</summary>
    public ReadinessRange Weeks(HoursLeft left)
    {
        var pace = HoursPerWeek!.Value / LessonShare;
        var spread = Math.Sqrt(LastingVariance + (VarianceOfOneWeek / Math.Max(1, left.Range(1).Median / pace)));
        double[] paces = [.. Normal.Select(z => pace * Math.Exp(spread * z))];
        return new(Quantile(0.1), Quantile(0.5), Quantile(0.9));

        double Quantile(double chance)
        {
            var (low, high) = (0.0, 1e6);
            while (high - low > 1e-3)
            {
                var middle = (low + high) / 2;
                (low, high) = paces.Average(one => left.Chance(middle * one)) < chance ? (middle, high) : (low, middle);
            }

            return high;
        }
    }
}
