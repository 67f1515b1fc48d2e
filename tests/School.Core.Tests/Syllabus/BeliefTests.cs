using CsCheck;
using School.Core.Syllabus.Readiness;

namespace School.Core.Tests.Syllabus;

/// <summary>The closed forms against the integral that they solve: normal likelihood, mean given variance normal, variance scaled inverse chi-squared
/// (A. Gelman and others, <i>Bayesian Data Analysis</i>, 3rd edition, 2013, section 3.3; from memory).</summary>
public sealed class BeliefTests
{
    private static readonly Belief Before = new(4, 0.16, 6, 6);

    [Theory]
    [InlineData]
    [InlineData(3.5)]
    [InlineData(3.2, 3.9, 4.4, 3.6, 3.1)]
    public void The_density_of_the_next_number_is_that_of_the_integral(params double[] seen)
    {
        var after = Before.After(seen);
        var middle = Integral(seen, 3.8);
        Assert.All([2.5, 3.3, 4.2, 5.0], next =>
            Assert.Equal(Integral(seen, next) / middle, Math.Exp(after.LogDensity(next) - after.LogDensity(3.8)), 2e-3));
    }

    [Fact]
    public void Many_numbers_outweigh_what_was_believed_before()
    {
        double[] seen = [.. Enumerable.Range(0, 4000).Select(i => 5 + (i % 2 == 0 ? 0.1 : -0.1))];
        var after = Before.After(seen);
        Assert.Equal(5, after.Mean, 0.01);
        Assert.Equal(0.01, after.Variance, 0.002);
    }

    [Fact]
    public void Numbers_seen_one_by_one_teach_the_same_as_all_at_once() =>
        Gen.Double[2, 6].List[1, 12].Sample(seen =>
        {
            var (once, oneByOne) = (Before.After(seen), seen.Aggregate(Before, (belief, number) => belief.After([number])));
            Assert.Equal(once.Mean, oneByOne.Mean, 1e-9);
            Assert.Equal(once.Variance, oneByOne.Variance, 1e-9);
        });

    private static double Integral(double[] seen, double next)
    {
        var sum = 0.0;
        for (var logVariance = -7.0; logVariance < 4; logVariance += 0.05)
        {
            var variance = Math.Exp(logVariance);

            // Density of the variance times the variance itself, for steps in its logarithm.
            var weight = Math.Pow(variance, -Before.VarianceWeight / 2) * Math.Exp(-Before.VarianceWeight * Before.Variance / (2 * variance));
            for (var mean = 0.0; mean < 8; mean += 0.04)
            {
                sum += weight * Normal(mean, Before.Mean, variance / Before.MeanWeight) * Normal(next, mean, variance)
                    * seen.Aggregate(1.0, (product, number) => product * Normal(number, mean, variance));
            }
        }

        return sum;
    }

    private static double Normal(double x, double mean, double variance) =>
        Math.Exp(-(x - mean) * (x - mean) / (2 * variance)) / Math.Sqrt(2 * Math.PI * variance);
}
