using System.Globalization;

namespace School.Core.Accounts;

/// <summary>A creditor reference: RF, two check digits and a body, by which a payment is known.</summary>
/// <remarks>
/// ISO 11649:2009: letters count A=10 to Z=35, the check digits are 98 less the remainder of body + RF00 by 97. At most 25 characters; bank
/// transfers in the United Kingdom carry 18, so a body has at most 14.
/// </remarks>
public static class CreditorReference
{
    /// <summary>The longest body that a transfer in the United Kingdom carries.</summary>
    public const int LongestBody = 14;

    /// <summary>The longest that the standard knows, prefix included.</summary>
    public const int Longest = 25;

    /// <summary>Makes the reference of a body.</summary>
    /// <param name="body">One to 21 of A to Z and 0 to 9; small letters are taken as large.</param>
    /// <exception cref="ArgumentException">The body is empty, too long or has other characters.</exception>
    public static string Of(string body)
    {
        var upper = body.ToUpperInvariant();
        if (upper.Length is 0 or > Longest - 4 || !upper.All(IsFit))
        {
            throw new ArgumentException("A reference is made of one to 21 letters and digits.", nameof(body));
        }

        return $"RF{(98 - Remainder($"{upper}RF00")).ToString("00", CultureInfo.InvariantCulture)}{upper}";
    }

    /// <summary>Whether a reference is whole, whatever its case and wherever blanks stand.</summary>
    /// <param name="typed">As it was typed.</param>
    /// <param name="reference">Without blanks, in capitals.</param>
    public static bool TryRead(string? typed, out string reference)
    {
        reference = string.Concat((typed ?? "").Where(letter => !char.IsWhiteSpace(letter))).ToUpperInvariant();
        return reference.Length is > 4 and <= Longest && reference.StartsWith("RF", StringComparison.Ordinal) && reference.All(IsFit)
            && char.IsAsciiDigit(reference[2]) && char.IsAsciiDigit(reference[3]) && Remainder(reference[4..] + reference[..4]) == 1;
    }

    /// <summary>In groups of four, as it is printed.</summary>
    public static string Printed(string reference) => string.Join(' ', reference.Chunk(4).Select(four => new string(four)));

    private static bool IsFit(char letter) => letter is (>= '0' and <= '9') or (>= 'A' and <= 'Z');

    private static int Remainder(string text)
    {
        var rest = 0;
        foreach (var letter in text)
        {
            rest = char.IsAsciiDigit(letter) ? ((rest * 10) + letter - '0') % 97 : ((rest * 100) + letter - 'A' + 10) % 97;
        }

        return rest;
    }
}
