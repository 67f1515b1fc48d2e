namespace School.Core.Syllabus.Readiness;

/// <summary>How the score grows over the hours of a course: fast at first and slower later for a bend above 0, evenly at 0, the other way below.</summary>
/// <remarks>(1 − e^(−b·x)) ÷ (1 − e^(−b)) at the share x of the course, with the bend b.</remarks>
internal static class GrowthCurve
{
    private const double Least = -3;
    private const double Step = 0.25;

    /// <summary>The bends that are told apart.</summary>
    public static readonly double[] Bends = [.. Enumerable.Range(0, 49).Select(i => Least + (i * Step))];

    /// <summary>The score at a share of the course.</summary>
    public static double At(double share, double bend) =>
        Math.Abs(bend) < 1e-9 ? share : (1 - Math.Exp(-bend * share)) / (1 - Math.Exp(-bend));

    /// <summary>The bend that fits a finished course best by least squares, each lesson counting by its length.</summary>
    public static double Fit(IReadOnlyList<CoursePoint> points, int end)
    {
        var whole = points[end].CountedHours;
        return Bends.MinBy(bend => Misfit(points, end, whole, bend));
    }

    private static double Misfit(IReadOnlyList<CoursePoint> points, int end, double whole, double bend)
    {
        var sum = 0.0;
        for (var i = 0; i < end; i++)
        {
            var off = (points[i].Score ?? 0) - At(points[i].CountedHours / whole, bend);
            sum += off * off * (points[i].CountedHours - (i == 0 ? 0 : points[i - 1].CountedHours));
        }

        return sum;
    }
}
