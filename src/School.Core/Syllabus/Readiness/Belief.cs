namespace School.Core.Syllabus.Readiness;

/// <summary>What is believed of a number that differs from pupil to pupil: normal, with neither mean nor spread known for certain.</summary>
/// <remarks>The conjugate normal and scaled inverse chi-squared family: A. Gelman and others, <i>Bayesian Data Analysis</i>, 3rd edition (2013), section 3.3; from memory.</remarks>
/// <param name="Mean">Where the mean is believed to be.</param>
/// <param name="Variance">What the variance between pupils is believed to be; more than 0.</param>
/// <param name="MeanWeight">How many pupils the belief in the mean is worth; more than 0.</param>
/// <param name="VarianceWeight">How many pupils the belief in the variance is worth; more than 0.</param>
public sealed record Belief(double Mean, double Variance, double MeanWeight, double VarianceWeight)
{
    /// <summary>The belief after these numbers have been seen. With many of them it is their mean and variance, with none it is as before.</summary>
    public Belief After(IReadOnlyCollection<double> seen)
    {
        ArgumentNullException.ThrowIfNull(seen);
        if (seen.Count == 0)
        {
            return this;
        }

        var (n, mean) = (seen.Count, seen.Average());
        var (meanWeight, varianceWeight) = (MeanWeight + n, VarianceWeight + n);
        var squares = seen.Sum(number => (number - mean) * (number - mean));
        var moved = (mean - Mean) * (mean - Mean) * MeanWeight * n / meanWeight;
        return new(
            ((MeanWeight * Mean) + (n * mean)) / meanWeight,
            ((VarianceWeight * Variance) + squares + moved) / varianceWeight,
            meanWeight,
            varianceWeight);
    }

    /// <summary>Logarithm of the density of the next pupil's number, up to a constant: Student's t with <see cref="VarianceWeight"/> degrees of freedom.</summary>
    public double LogDensity(double next)
    {
        var scaled = (next - Mean) * (next - Mean) / (Variance * (1 + (1 / MeanWeight)));
        return -(VarianceWeight + 1) / 2 * Math.Log(1 + (scaled / VarianceWeight));
    }
}
