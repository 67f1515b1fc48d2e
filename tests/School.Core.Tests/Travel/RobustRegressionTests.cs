using CsCheck;
using School.Core.Travel;

namespace School.Core.Tests.Travel;

/// <summary>Checked against the stack-loss data of K. A. Brownlee, “Statistical Theory and Methodology” (1965), on which every text on robust
/// regression tries itself. Data and published answers from memory: the examples of W. N. Venables and B. D. Ripley's MASS
/// (function rlm), which stops early, hence the tolerance.</summary>
public sealed class RobustRegressionTests
{
    private static readonly double[] Air = [80, 80, 75, 62, 62, 62, 62, 62, 58, 58, 58, 58, 58, 58, 50, 50, 50, 50, 50, 56, 70];
    private static readonly double[] Water = [27, 27, 25, 24, 22, 23, 24, 24, 23, 18, 18, 17, 18, 19, 18, 18, 19, 19, 20, 20, 20];
    private static readonly double[] Acid = [89, 88, 90, 87, 87, 87, 93, 93, 87, 80, 89, 88, 82, 93, 89, 86, 72, 79, 80, 82, 91];
    private static readonly double[] Loss = [42, 37, 37, 28, 18, 18, 19, 20, 15, 14, 14, 13, 11, 12, 8, 7, 8, 8, 9, 15, 15];

    private static List<double[]> StackRows => [.. Air.Select((air, i) => new[] { 1, air, Water[i], Acid[i] })];

    [Fact]
    public void Huber_on_the_stack_loss_data_gives_the_published_answer()
    {
        var fit = RobustRegression.Fit(StackRows, Loss, RobustLoss.Huber)!;
        AssertNear([-41.0265, 0.8294, 0.9261, -0.1278], fit.Coefficients, 0.002);
        Assert.Equal(2.441, fit.Scale, 0.01);
    }

    [Fact]
    public void Bisquare_on_the_stack_loss_data_gives_the_published_answer() =>
        AssertNear([-42.2853, 0.9275, 0.6507, -0.1123], RobustRegression.Fit(StackRows, Loss, RobustLoss.Bisquare)!.Coefficients, 0.002);

    [Fact]
    public void Numbers_without_noise_are_fitted_exactly_although_a_fifth_of_them_is_wild()
    {
        var rows = Enumerable.Range(0, 30).Select(i => new[] { 1, i / 3.0 }).ToList();
        var y = rows.Select((row, i) => 2 + (0.5 * row[1]) + (i % 5 == 0 ? 40 : 0)).ToList();
        var first = RobustRegression.Fit(rows, y, RobustLoss.Huber)!;
        AssertNear([2, 0.5], RobustRegression.Fit(rows, y, RobustLoss.Bisquare, first.Coefficients)!.Coefficients, 1e-6);
    }

    [Fact]
    public void Rows_that_do_not_determine_the_coefficients_give_no_answer()
    {
        Assert.Null(RobustRegression.Fit([], [], RobustLoss.Huber));
        Assert.Null(RobustRegression.Fit([[1, 2]], [3], RobustLoss.Huber));
        Assert.Null(RobustRegression.Fit([[1, 2], [2, 4], [3, 6]], [3, 4, 5], RobustLoss.Huber));
        Assert.Throws<ArgumentException>(() => RobustRegression.Fit([[1, 2], [1]], [3, 4], RobustLoss.Huber));
    }

    /// <summary>Huber's loss is convex, so no other point may cost less; least absolute deviations, found by trying every pair of points,
    /// are one that could, and lie near.</summary>
    [Fact]
    public void No_other_line_costs_less_and_least_absolute_deviations_lie_near() =>
        Gen.Select(Gen.Double[-2, 2], Gen.Double[0.1, 3], Gen.Int[-1000, 1000].Array[40], Gen.Int[0, 1000]).Sample((a, b, noise, seed) =>
        {
            var rows = Enumerable.Range(0, noise.Length).Select(i => new[] { 1, i / 4.0 }).ToList();
            var y = rows.Select((row, i) => a + (b * row[1]) + (noise[i] / 1000.0) + ((i + seed) % 7 == 0 ? 25 : 0)).ToList();
            var fit = RobustRegression.Fit(rows, y, RobustLoss.Huber)!;
            var lad = LeastAbsolute(rows, y);
            double Cost(IReadOnlyList<double> c) => rows.Select((row, i) => HuberCost((y[i] - (row[0] * c[0]) - (row[1] * c[1])) / fit.Scale)).Sum();
            Assert.True(Cost(fit.Coefficients) <= Cost(lad) + 1e-6);
            foreach (var (da, db) in new[] { (0.01, 0.0), (-0.01, 0.0), (0.0, 0.001), (0.0, -0.001) })
            {
                Assert.True(Cost(fit.Coefficients) <= Cost([fit.Coefficients[0] + da, fit.Coefficients[1] + db]) + 1e-6);
            }

            Assert.All(rows, row => Assert.Equal(lad[0] + (lad[1] * row[1]), fit.Coefficients[0] + (fit.Coefficients[1] * row[1]), 1.0));
        }, iter: 60);

    private static double HuberCost(double u) => Math.Abs(u) <= 1.345 ? u * u / 2 : (1.345 * Math.Abs(u)) - (1.345 * 1.345 / 2);

    /// <summary>The best of the lines through two points: one of them has least absolute deviations.</summary>
    private static double[] LeastAbsolute(List<double[]> rows, List<double> y)
    {
        var lines = from i in Enumerable.Range(0, y.Count)
                    from j in Enumerable.Range(i + 1, y.Count - i - 1)
                    let slope = (y[j] - y[i]) / (rows[j][1] - rows[i][1])
                    select new[] { y[i] - (slope * rows[i][1]), slope };
        return lines.MinBy(line => rows.Select((row, i) => Math.Abs(y[i] - line[0] - (line[1] * row[1]))).Sum())!;
    }

    private static void AssertNear(double[] expected, IReadOnlyList<double> actual, double relative)
    {
        Assert.Equal(expected.Length, actual.Count);
        Assert.All(expected, (value, i) => Assert.Equal(value, actual[i], Math.Abs(value) * relative));
    }
}
