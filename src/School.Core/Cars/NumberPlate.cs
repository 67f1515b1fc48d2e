using System.Diagnostics.CodeAnalysis;
using System.Text.RegularExpressions;

namespace School.Core.Cars;

/// <summary>A registration number as it stands on the plate, checked loosely: two to eight letters and digits.</summary>
/// <remarks>
/// The forms in use are those of the DVLA leaflet INF104 (from memory): AB12 CDE since 2001, A123 BCD since 1983, ABC 123A
/// since 1963, and older or Northern Ireland ones such as ABC 1234 or 1234 AB. Anything else (visitors, cherished numbers) is
/// kept without a space, so that one car has one spelling.
/// </remarks>
public static partial class NumberPlate
{
    /// <summary>Most characters that are read, spaces and all.</summary>
    public const int LongestTyped = 20;

    /// <summary>Reads a number as typed, in capitals or not, with or without spaces or hyphens.</summary>
    /// <param name="text">What was typed; may be null.</param>
    /// <param name="plate">Capitals, with one space where the form has one; null when refused.</param>
    /// <param name="problem"><c>plate-missing</c> or <c>plate-form</c> when refused.</param>
    public static bool TryParse(string? text, [NotNullWhen(true)] out string? plate, [NotNullWhen(false)] out InputProblem? problem)
    {
        var value = string.Concat((text ?? "").Where(c => !char.IsWhiteSpace(c) && c != '-')).ToUpperInvariant();
        problem = value.Length == 0 ? new("plate_missing", "Enter the number plate.")
            : text!.Length <= LongestTyped && Loose().IsMatch(value) ? null
            : new("plate_form", "A number plate has two to eight letters and digits, such as AB12 CDE.");
        plate = problem is null ? Spaced().Replace(value, "${front} ${back}") : null;
        return problem is null;
    }

    [GeneratedRegex(@"\A[A-Z0-9]{2,8}\z")]
    private static partial Regex Loose();

    [GeneratedRegex(@"\A(?:(?<front>[A-Z]{2}[0-9]{2}|[A-Z][0-9]{1,3})(?<back>[A-Z]{3})|(?<front>[A-Z]{3})(?<back>[0-9]{1,3}[A-Z])|(?<front>[A-Z]{1,3})(?<back>[0-9]{1,4})|(?<front>[0-9]{1,4})(?<back>[A-Z]{1,3}))\z")]
    private static partial Regex Spaced();
}
