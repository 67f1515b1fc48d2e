using System.Diagnostics.CodeAnalysis;
using System.Globalization;

namespace School.Core.Accounts;

/// <summary>Arithmetic of whole pence.</summary>
public static class Pence
{
    /// <summary>The most that one amount may be: a hundred thousand pounds. A bound of our own, against slips of the finger.</summary>
    public const long Most = 100_000_00;

    /// <summary>A part of an amount to the nearest penny, half a penny away from nought.</summary>
    /// <param name="pence">The amount.</param>
    /// <param name="part">The part, nought or more.</param>
    /// <param name="whole">The whole, more than nought.</param>
    public static long Share(long pence, long part, long whole)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(part);
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(whole);
        var product = (Int128)Math.Abs(pence) * part;
        var share = (long)((product * 2 + whole) / ((Int128)whole * 2));
        return pence < 0 ? -share : share;
    }

    /// <summary>Pounds and pence as people type them: "36", "36.5" is refused, "36.50", "£1,250.00".</summary>
    /// <param name="typed">What was typed.</param>
    /// <param name="pence">The amount, nought or more and at most <see cref="Most"/>.</param>
    /// <returns>Whether it is an amount.</returns>
    public static bool TryParse(string? typed, out long pence)
    {
        pence = 0;
        var text = (typed ?? "").Trim().TrimStart('£').Trim();
        var parts = text.Split('.');
        if (parts.Length > 2 || (parts.Length == 2 && parts[1].Length != 2) || !Pounds(parts[0], out var pounds))
        {
            return false;
        }

        var left = 0L;
        if (parts.Length == 2 && !long.TryParse(parts[1], NumberStyles.None, CultureInfo.InvariantCulture, out left))
        {
            return false;
        }

        pence = (pounds * 100) + left;
        return pence <= Most;
    }

    // A comma stands before each group of three figures, or nowhere.
    private static bool Pounds([NotNullWhen(true)] string? text, out long pounds)
    {
        pounds = 0;
        var groups = (text ?? "").Split(',');
        var well = groups.Length == 1 || (groups[0].Length is > 0 and < 4 && groups.Skip(1).All(group => group.Length == 3));
        return well && text!.Length is > 0 and < 10 && long.TryParse(string.Concat(groups), NumberStyles.None, CultureInfo.InvariantCulture, out pounds);
    }
}
