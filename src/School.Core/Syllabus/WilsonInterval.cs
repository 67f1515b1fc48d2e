namespace School.Core.Syllabus;

/// <summary>What a share seen in a small sample says about the true one: the score interval of 95 %.</summary>
/// <param name="Low">Lower end, 0 to 1.</param>
/// <param name="High">Upper end, 0 to 1.</param>
/// <remarks>
/// E. B. Wilson, Probable inference, the law of succession, and statistical inference, Journal of the American Statistical Association
/// 22 (1927), pages 209 to 212; without correction for continuity. It keeps within 0 and 1 and holds for few cases, where the usual
/// interval does not.
/// </remarks>
public readonly record struct WilsonInterval(double Low, double High)
{
    /// <summary>The 97.5 % point of the normal distribution.</summary>
    private const double Z = 1.959963984540054;

    /// <summary>The interval; null where there is no case to learn from.</summary>
    /// <param name="hits">Cases with the property, 0 to <paramref name="cases"/>.</param>
    /// <param name="cases">All cases, 0 or more.</param>
    public static WilsonInterval? Of(int hits, int cases)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(hits);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(hits, cases);
        if (cases == 0)
        {
            return null;
        }

        double n = cases, p = hits / n;
        var middle = p + (Z * Z / (2 * n));
        var reach = Z * Math.Sqrt((p * (1 - p) / n) + (Z * Z / (4 * n * n)));
        var all = 1 + (Z * Z / n);
        // At the ends rounding would leave a hair over.
        return new(hits == 0 ? 0 : (middle - reach) / all, hits == cases ? 1 : (middle + reach) / all);
    }
}
