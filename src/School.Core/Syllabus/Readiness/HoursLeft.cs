namespace School.Core.Syllabus.Readiness;

/// <summary>How likely it is that a pupil needs so many more counted hours: the exact posterior on a grid.</summary>
internal sealed class HoursLeft
{
    // A quarter of an hour, then steps of 5 % to beyond 1,600 hours.
    private const double First = 0.25;
    private const double Ratio = 1.05;
    private const int Cells = 180;

    // How far levels stray from the growth curve in the middle of a course, and by half a level of a skill anywhere: common practice, no source.
    private const double Stray = 0.13;
    private const double Grain = 0.01;

    private static readonly double[] Edges = [0, .. Enumerable.Range(0, Cells).Select(i => First * Math.Pow(Ratio, i))];

    private readonly double[] upTo;

    private HoursLeft(double[] upTo) => this.upTo = upTo;

    /// <summary>What is left after so many counted hours.</summary>
    /// <param name="hours">Counted hours so far.</param>
    /// <param name="seen">The last lesson with marks, not ready; null where there is none.</param>
    /// <param name="experience">What the school may expect.</param>
    public static HoursLeft Of(double hours, CoursePoint? seen, Experience experience)
    {
        var bends = GrowthCurve.Bends.Select(bend => (bend, Math.Exp(experience.Bend.LogDensity(bend)))).ToArray();
        var logs = new double[Cells];
        for (var cell = 0; cell < Cells; cell++)
        {
            var whole = hours + ((Edges[cell] + Edges[cell + 1]) / 2);

            // The belief is in the logarithm of the whole; the cells are in hours.
            logs[cell] = experience.LogHours.LogDensity(Math.Log(whole)) - Math.Log(whole) + Math.Log(Edges[cell + 1] - Edges[cell])
                + (seen is { } point ? Math.Log(Likelihood(point, whole, bends)) : 0);
        }

        var most = logs.Max();
        var upTo = new double[Cells + 1];
        for (var cell = 0; cell < Cells; cell++)
        {
            upTo[cell + 1] = upTo[cell] + Math.Exp(logs[cell] - most);
        }

        return new([.. upTo.Select(sum => sum / upTo[^1])]);
    }

    /// <summary>The chance that no more than so many counted hours are left.</summary>
    public double Chance(double hours)
    {
        if (hours >= Edges[^1])
        {
            return 1;
        }

        var at = Array.BinarySearch(Edges, hours);
        var cell = at >= 0 ? at : ~at - 1;
        return upTo[cell] + ((upTo[cell + 1] - upTo[cell]) * (hours - Edges[cell]) / (Edges[cell + 1] - Edges[cell]));
    }

    /// <summary>The 80 % range of the hours left, times a factor.</summary>
    public ReadinessRange Range(double factor) => new(Quantile(0.1) * factor, Quantile(0.5) * factor, Quantile(0.9) * factor);

    private double Quantile(double chance)
    {
        var cell = 0;
        while (cell < Cells - 1 && upTo[cell + 1] < chance)
        {
            cell++;
        }

        return Edges[cell] + ((Edges[cell + 1] - Edges[cell]) * (chance - upTo[cell]) / (upTo[cell + 1] - upTo[cell]));
    }

    /// <summary>How well a whole course of so many hours explains the score, over all bends. The score strays as a bridge held at both ends of the course.</summary>
    private static double Likelihood(CoursePoint seen, double whole, (double Bend, double Weight)[] bends)
    {
        var sum = 0.0;
        foreach (var (bend, weight) in bends)
        {
            var at = GrowthCurve.At(seen.CountedHours / whole, bend);
            var variance = (Stray * Stray * at * (1 - at)) + (Grain * Grain);
            var off = seen.Score!.Value - at;
            sum += weight * Math.Exp(-off * off / (2 * variance)) / Math.Sqrt(variance);
        }

        // A score that no course explains must not make all of them equally impossible.
        return Math.Max(sum, double.Epsilon);
    }
}
