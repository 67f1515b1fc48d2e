namespace School.Core.Travel;

/// <summary>How much a residual counts in a <see cref="RobustRegression"/>.</summary>
public enum RobustLoss
{
    /// <summary>Square near zero, straight beyond 1.345 scales (Huber 1964); one answer whatever the start.</summary>
    Huber,

    /// <summary>Nothing beyond 4.685 scales (Beaton and Tukey 1974); wants a good start.</summary>
    Bisquare,
}

/// <summary>Linear regression that a few gross errors do not move: M-estimation by iteratively reweighted least squares.</summary>
/// <remarks>
/// <para>P. J. Huber, “Robust estimation of a location parameter”, Annals of Mathematical Statistics 35 (1964); A. E. Beaton and J. W. Tukey,
/// “The fitting of power series, meaning polynomials, illustrated on band-spectroscopic data”, Technometrics 16 (1974). Citations
/// and the usual constants, 95 % efficient under normal errors, from memory.</para>
/// <para>The scale is the median absolute residual over 0.6745, estimated anew in every round. A round costs n·k² for n rows and k
/// coefficients (n·k where all but one cell of a row are 0); a few tens of rounds are usual, 200 the bound.</para>
/// </remarks>
public static class RobustRegression
{
    private const double HuberBend = 1.345;
    private const double BisquareEnd = 4.685;
    private const double MedianOfNormal = 0.6745;
    private const int MostRounds = 200;
    private const double Tolerance = 1e-9;

    /// <summary>The coefficients of y = X·b, or null when the rows do not determine them (too few, or columns that depend on each other).</summary>
    /// <param name="rows">X, one row a case, all of one length; numbers are finite.</param>
    /// <param name="y">One number a row.</param>
    /// <param name="loss">How residuals count.</param>
    /// <param name="start">Coefficients to start from; least squares when null.</param>
    /// <exception cref="ArgumentException">The rows and numbers do not go together.</exception>
    public static RobustFit? Fit(IReadOnlyList<double[]> rows, IReadOnlyList<double> y, RobustLoss loss, IReadOnlyList<double>? start = null)
    {
        if (rows.Count != y.Count || rows.Any(row => row.Length != rows[0].Length))
        {
            throw new ArgumentException("Every row needs its number and as many cells as the others.", nameof(rows));
        }

        var weights = new double[rows.Count];
        Array.Fill(weights, 1);
        var coefficients = start?.ToArray() ?? (rows.Count == 0 ? null : Solve(rows, y, weights));
        if (coefficients is null)
        {
            return null;
        }

        var residuals = Residuals(rows, y, coefficients);
        for (var round = 0; round < MostRounds; round++)
        {
            var scale = Scale(residuals);
            if (scale <= 0)
            {
                break;
            }

            for (var i = 0; i < weights.Length; i++)
            {
                weights[i] = Weight(loss, residuals[i] / scale);
            }

            if (Solve(rows, y, weights) is not { } better)
            {
                return null;
            }

            var next = Residuals(rows, y, better);
            var still = Distance(residuals, next) <= Tolerance;
            (coefficients, residuals) = (better, next);
            if (still)
            {
                break;
            }
        }
        return new(coefficients, Scale(residuals), residuals);
    }

    /// <summary>The middle number, or the mean of the middle two.</summary>
    internal static double Median(IEnumerable<double> numbers)
    {
        var sorted = numbers.Order().ToArray();
        return (sorted[(sorted.Length - 1) / 2] + sorted[sorted.Length / 2]) / 2;
    }

    private static double Scale(double[] residuals) => Median(residuals.Select(Math.Abs)) / MedianOfNormal;

    private static double Weight(RobustLoss loss, double u)
    {
        if (loss == RobustLoss.Huber)
        {
            return Math.Abs(u) <= HuberBend ? 1 : HuberBend / Math.Abs(u);
        }

        var inside = 1 - u / BisquareEnd * (u / BisquareEnd);
        return inside <= 0 ? 0 : inside * inside;
    }

    private static double[] Residuals(IReadOnlyList<double[]> rows, IReadOnlyList<double> y, double[] b)
    {
        var residuals = new double[rows.Count];
        for (var i = 0; i < residuals.Length; i++)
        {
            residuals[i] = y[i];
            for (var j = 0; j < b.Length; j++)
            {
                residuals[i] -= rows[i][j] * b[j];
            }
        }
        return residuals;
    }

    private static double Distance(double[] before, double[] after)
    {
        var (moved, size) = (0.0, 1e-20);
        for (var i = 0; i < before.Length; i++)
        {
            moved += (after[i] - before[i]) * (after[i] - before[i]);
            size += before[i] * before[i];
        }
        return Math.Sqrt(moved / size);
    }

    /// <summary>Weighted least squares by the normal equations and Cholesky's factors.</summary>
    private static double[]? Solve(IReadOnlyList<double[]> rows, IReadOnlyList<double> y, double[] weights)
    {
        var k = rows[0].Length;
        var (a, b) = (new double[k, k], new double[k]);
        for (var i = 0; i < rows.Count; i++)
        {
            for (var r = 0; r < k; r++)
            {
                var wx = weights[i] * rows[i][r];
                if (wx == 0)
                {
                    continue;
                }

                b[r] += wx * y[i];
                for (var c = 0; c <= r; c++)
                {
                    a[r, c] += wx * rows[i][c];
                }
            }
        }
        return Factor(a) ? Substitute(a, b) : null;
    }

    private static bool Factor(double[,] a)
    {
        var k = a.GetLength(0);
        for (var c = 0; c < k; c++)
        {
            var whole = a[c, c];
            for (var j = 0; j < c; j++)
            {
                a[c, c] -= a[c, j] * a[c, j];
            }

            if (!(a[c, c] > whole * 1e-13))
            {
                return false;
            }

            a[c, c] = Math.Sqrt(a[c, c]);
            for (var r = c + 1; r < k; r++)
            {
                for (var j = 0; j < c; j++)
                {
                    a[r, c] -= a[r, j] * a[c, j];
                }

                a[r, c] /= a[c, c];
            }
        }
        return true;
    }

    private static double[] Substitute(double[,] l, double[] b)
    {
        for (var r = 0; r < b.Length; r++)
        {
            for (var j = 0; j < r; j++)
            {
                b[r] -= l[r, j] * b[j];
            }

            b[r] /= l[r, r];
        }
        for (var r = b.Length - 1; r >= 0; r--)
        {
            for (var j = r + 1; j < b.Length; j++)
            {
                b[r] -= l[j, r] * b[j];
            }

            b[r] /= l[r, r];
        }
        return b;
    }
}

/// <summary>What a <see cref="RobustRegression"/> found.</summary>
/// <param name="Coefficients">One for each column.</param>
/// <param name="Scale">Spread of the residuals as a standard deviation of the ordinary cases: median absolute residual over 0.6745.</param>
/// <param name="Residuals">What each number exceeds its estimate by.</param>
public sealed record RobustFit(IReadOnlyList<double> Coefficients, double Scale, IReadOnlyList<double> Residuals);
