using System.Diagnostics.CodeAnalysis;
using System.Text.RegularExpressions;

namespace School.Core.Travel;

/// <summary>A United Kingdom postcode that has the right form; whether it is in use is not known.</summary>
/// <remarks>
/// Source: the postcode pattern in the BS 7666 version 2.0 schema (webarchive.nationalarchives.gov.uk, PostCodeType),
/// with one looser rule: any letter may stand third in an outward part such as N1P, where the schema's list is too old.
/// Crown dependencies (JE, GY, IM) and forces' postcodes of the form BF1 0AA fit the same form.
/// </remarks>
public sealed partial record Postcode
{
    /// <summary>Most characters that are read, spaces and all.</summary>
    public const int LongestTyped = 20;

    /// <summary>
    /// Metres within which a position and a postcode are taken to mean one place: farther apart, one of them is a mistake, and a position that has no
    /// postcode this near lies in no district.
    /// </summary>
    /// <remarks>
    /// Our choice. The published middle of a postcode is within about 100 m of its addresses, that of a whole sector within a few kilometres (Code-Point
    /// Open, quality 10 to 60), and a district is several kilometres across: 5 km keep a farm with its postcode and tell one town from the next.
    /// </remarks>
    public const int ReachMetres = 5_000;

    private const int InwardLength = 3;

    private Postcode(string outward, string inward) => (Outward, Inward) = (outward, inward);

    /// <summary>The part before the space: the post town's district, two to four characters.</summary>
    public string Outward { get; }

    /// <summary>The part after the space: a digit and two letters.</summary>
    public string Inward { get; }

    /// <summary>Reads a postcode as typed, in capitals or not, with or without spaces.</summary>
    /// <param name="text">What was typed; may be null.</param>
    /// <param name="postcode">The postcode, when its form is right.</param>
    /// <param name="problem">
    /// What is wrong otherwise: <c>postcode-missing</c>, <c>postcode-length</c>, <c>postcode-outward</c> or <c>postcode-inward</c>.
    /// </param>
    public static bool TryParse(
        string? text,
        [NotNullWhen(true)] out Postcode? postcode,
        [NotNullWhen(false)] out InputProblem? problem)
    {
        var value = string.Concat((text ?? "").Where(c => !char.IsWhiteSpace(c))).ToUpperInvariant();
        problem = text?.Length > LongestTyped ? WrongLength : ProblemWith(value);
        postcode = problem is null ? new Postcode(value[..^InwardLength], value[^InwardLength..]) : null;
        return problem is null;
    }

    /// <summary>Whether a text has the form of the part before the space.</summary>
    internal static bool IsOutward(string value) => value == "GIR" || OutwardForm().IsMatch(value);

    /// <summary>Capitals, with one space before the last three characters.</summary>
    public override string ToString() => $"{Outward} {Inward}";

    private static readonly InputProblem WrongLength = new("postcode_length", "A postcode has five to seven letters and digits, such as M1 1AE or EC1A 1BB.");

    private static InputProblem? ProblemWith(string value) => value switch
    {
        "" => new("postcode_missing", "Enter a postcode."),
        { Length: < 5 or > 7 } => WrongLength,
        _ when !InwardForm().IsMatch(value[^InwardLength..]) =>
            new("postcode_inward", "The second half of a postcode is a digit and two letters, none of them C, I, K, M, O or V."),
        _ when !OutwardForm().IsMatch(value[..^InwardLength]) && value != "GIR0AA" =>
            new("postcode_outward", "The first half of a postcode does not look right. It starts like M1, B33, CR2, DN55, W1A or EC1A."),
        _ => null,
    };

    [GeneratedRegex(@"\A(?:[A-PR-UWYZ][0-9]{1,2}|[A-PR-UWYZ][A-HK-Y][0-9]{1,2}|[A-PR-UWYZ][0-9][A-Z]|[A-PR-UWYZ][A-HK-Y][0-9][ABEHMNPRVWXY])\z")]
    private static partial Regex OutwardForm();

    [GeneratedRegex(@"\A[0-9][ABD-HJLNP-UW-Z]{2}\z")]
    private static partial Regex InwardForm();
}
