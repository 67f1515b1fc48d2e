using System.Diagnostics.CodeAnalysis;

namespace School.Core.Travel;

/// <summary>The outward part of a postcode, such as LK1 or EC1A: a part of a town, or a small town.</summary>
public sealed record PostcodeDistrict : IComparable<PostcodeDistrict>
{
    /// <summary>Most characters that are read, spaces and all.</summary>
    public const int LongestTyped = 10;

    private PostcodeDistrict(string text) => Text = text;

    /// <summary>Capitals and digits, two to four.</summary>
    public string Text { get; }

    /// <summary>Whether it lies in Northern Ireland, whose postcodes the open file for Great Britain leaves out.</summary>
    public bool InNorthernIreland => Text.StartsWith("BT", StringComparison.Ordinal);

    /// <summary>The district of a postcode.</summary>
    public static PostcodeDistrict Of(Postcode postcode)
    {
        ArgumentNullException.ThrowIfNull(postcode);
        return new(postcode.Outward);
    }

    /// <summary>Reads a district as typed, in capitals or not, with or without spaces. A whole postcode is not one.</summary>
    /// <param name="text">What was typed; may be null.</param>
    /// <param name="district">The district, when its form is right.</param>
    /// <param name="problem">What is wrong otherwise: <c>district_missing</c> or <c>district_form</c>.</param>
    public static bool TryParse(
        string? text, [NotNullWhen(true)] out PostcodeDistrict? district, [NotNullWhen(false)] out InputProblem? problem)
    {
        var value = string.Concat((text ?? "").Where(c => !char.IsWhiteSpace(c))).ToUpperInvariant();
        var fits = text?.Length <= LongestTyped && Postcode.IsOutward(value);
        district = fits ? new(value) : null;
        problem = fits ? null
            : value.Length == 0 ? new("district_missing", "Enter a postcode district.")
            : new("district_form", "A postcode district is the first half of a postcode, such as M1, B33, DN55, W1A or EC1A.");
        return fits;
    }

    /// <summary>In the order people expect: LK2 before LK10.</summary>
    public int CompareTo(PostcodeDistrict? other) => other is null ? 1
        : (Letters, Number, Text).CompareTo((other.Letters, other.Number, other.Text)) is var by and not 0 ? by : 0;

    /// <inheritdoc/>
    public override string ToString() => Text;

    private string Letters => Text[..(char.IsAsciiLetter(Text[1]) ? 2 : 1)];

    private int Number => int.TryParse(string.Concat(Text[Letters.Length..].TakeWhile(char.IsAsciiDigit)), out var number) ? number : 0;

    /// <summary>By <see cref="CompareTo"/>.</summary>
    public static bool operator <(PostcodeDistrict left, PostcodeDistrict right) => Comparer<PostcodeDistrict>.Default.Compare(left, right) < 0;

    /// <summary>By <see cref="CompareTo"/>.</summary>
    public static bool operator >(PostcodeDistrict left, PostcodeDistrict right) => right < left;

    /// <summary>By <see cref="CompareTo"/>.</summary>
    public static bool operator <=(PostcodeDistrict left, PostcodeDistrict right) => !(right < left);

    /// <summary>By <see cref="CompareTo"/>.</summary>
    public static bool operator >=(PostcodeDistrict left, PostcodeDistrict right) => !(left < right);
}
