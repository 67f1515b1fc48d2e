using NodaTime;

namespace School.Core.Syllabus.Readiness;

/// <summary>How a finished pupil's course went.</summary>
/// <param name="On">The day on which the course was at its end.</param>
/// <param name="Lessons">Lessons by then; at least one.</param>
/// <param name="LessonHours">Hours taught by then.</param>
/// <param name="CountedHours">The same with private practice at its weight.</param>
/// <param name="Bend">How the levels grew: more than 0 for fast at first; null where the record never came to ready.</param>
public sealed record FinishedCourse(LocalDate On, int Lessons, double LessonHours, double CountedHours, double? Bend)
{
    /// <summary>The course up to the first lesson after which every skill stood at the goal, or where the record never came so far, up to its last lesson.</summary>
    /// <returns>Null where there was no lesson.</returns>
    /// <exception cref="ArgumentException">As <see cref="Course.Points"/>.</exception>
    public static FinishedCourse? Of(Course course, ReadinessTerms terms)
    {
        ArgumentNullException.ThrowIfNull(course);
        var points = course.Points(terms);
        if (points.Count == 0)
        {
            return null;
        }

        var ready = points.ToList().FindIndex(point => point.Ready);
        var end = ready >= 0 ? ready : points.Count - 1;
        return new(points[end].On, end + 1, points[end].LessonHours, points[end].CountedHours, ready > 0 ? GrowthCurve.Fit(points, end) : null);
    }
}

/// <summary>What a school may expect of its next pupil: the published averages, moved by its own finished pupils as far as their number carries.</summary>
public sealed record Experience
{
    /// <summary>Hours with a professional instructor by the time of passing, on average.</summary>
    /// <remarks>Cohort research of the Driving Standards Agency, given out by DVSA since; from memory. A statistic, not a rule: no minimum is laid down.</remarks>
    public const double PublishedLessonHours = 45;

    /// <summary>Hours of private practice by then, on average; as <see cref="PublishedLessonHours"/>.</summary>
    public const double PublishedPracticeHours = 22;

    // Common practice, no source: a pupil in ten needs more than 1.6 times the middle, one in ten less than 0.6 times.
    private const double HoursSpread = 0.37;

    // Common practice, no source: levels rise a little faster at first, and schools differ much in how they mark.
    private const double UsualBend = 1;
    private const double BendSpread = 0.75;

    // The published figures weigh as much as so many finished pupils of the school itself.
    private const double PriorPupils = 6;

    private Experience(Belief logHours, Belief bend, int finished) => (LogHours, Bend, Finished) = (logHours, bend, finished);

    /// <summary>Of the logarithm of the counted hours of a whole course.</summary>
    public Belief LogHours { get; }

    /// <summary>Of how the levels grow over a course.</summary>
    public Belief Bend { get; }

    /// <summary>How many finished pupils it rests on.</summary>
    public int Finished { get; }

    /// <summary>The published averages, and what a school's own finished pupils add.</summary>
    public static Experience Of(ReadinessTerms terms, IReadOnlyCollection<FinishedCourse> finished)
    {
        ArgumentNullException.ThrowIfNull(terms);
        ArgumentNullException.ThrowIfNull(finished);
        var variance = HoursSpread * HoursSpread;

        // The published figure is a mean; that of a lognormal lies half a variance above its middle.
        var middle = Math.Log(PublishedLessonHours + (terms.PracticeWeight * PublishedPracticeHours)) - (variance / 2);
        return new(
            new Belief(middle, variance, PriorPupils, PriorPupils).After([.. finished.Select(course => Math.Log(course.CountedHours))]),
            new Belief(UsualBend, BendSpread * BendSpread, PriorPupils, PriorPupils).After([.. finished.Select(course => course.Bend).OfType<double>()]),
            finished.Count);
    }
}
