using System.Diagnostics.CodeAnalysis;
using System.Globalization;
using NodaTime;

namespace School.Core.Pupils;

/// <summary>
/// The 16-character driver number of a Great Britain licence, checked for form only: the last two letters are computed
/// by an unpublished method and cannot be verified.
/// </summary>
/// <remarks>
/// Five characters of the surname padded with 9; decade of birth; month, plus 50 for a woman; day; year of the decade;
/// two initials, 9 where there is none; a distinguishing character; two check letters.
/// Source: the driving licence field rules of GOV.UK One Login (govuk-one-login/ipv-cri-dl-front, fields.js).
/// Surname and initials are not compared with the pupil's name: names change, the number need not.
/// The number gives away a birth date and a sex, so <see cref="ToString"/> hides it.
/// </remarks>
public sealed record DriverNumber
{
    /// <summary>Number of characters.</summary>
    public const int Length = 16;

    /// <summary>Most characters that are read, spaces and all.</summary>
    public const int LongestTyped = 40;

    private const string NeverDistinguishing = "IOQYZ01";

    private DriverNumber(string value) => Value = value;

    /// <summary>The number: 16 capitals and digits, no spaces.</summary>
    public string Value { get; }

    private int YearOfCentury => Digit(5) * 10 + Digit(10);

    private int Month => TwoDigits(Value, 6) % 50;

    private int Day => TwoDigits(Value, 8);

    /// <summary>Reads a number as typed: spaces and hyphens are dropped, small letters raised.</summary>
    /// <param name="text">What was typed; may be null.</param>
    /// <param name="number">The number, when it is well formed.</param>
    /// <param name="problem">
    /// The first thing wrong otherwise: <c>driver_number_missing</c>, <c>-length</c>, <c>-issue</c>, <c>-northern-ireland</c>,
    /// <c>-surname</c>, <c>-year</c>, <c>-month</c>, <c>-day</c>, <c>-initials</c>, <c>-distinguishing</c> or <c>-check</c>.
    /// </param>
    public static bool TryParse(
        string? text,
        [NotNullWhen(true)] out DriverNumber? number,
        [NotNullWhen(false)] out InputProblem? problem)
    {
        var value = Normalise(text);
        problem = text?.Length > LongestTyped ? WrongLength(text.Length) : ProblemWith(value);
        number = problem is null ? new DriverNumber(value) : null;
        return problem is null;
    }

    /// <summary>
    /// Whether the birth date written in the number is this one. The number holds only the last two digits of the year.
    /// </summary>
    public bool AgreesWith(LocalDate birthDate) =>
        birthDate.Year % 100 == YearOfCentury && birthDate.Month == Month && birthDate.Day == Day;

    /// <summary>A mask, so that a number does not reach a log by accident. Use <see cref="Value"/> to show it.</summary>
    public override string ToString() => new('•', Length);

    private static string Normalise(string? text) =>
        string.Concat((text ?? "").Where(c => !char.IsWhiteSpace(c) && c != '-')).ToUpperInvariant();

    private static InputProblem? ProblemWith(string value) => value switch
    {
        "" => Problem("missing", "Enter the driver number, 16 letters and digits, from section 5 of the licence."),
        { Length: 8 } when value.All(char.IsAsciiDigit) =>
            Problem("northern_ireland", "This looks like a Northern Ireland driver number. Only Great Britain numbers, 16 characters long, can be checked."),
        { Length: 18 } when value[16..].All(char.IsAsciiDigit) && ProblemWith(value[..Length]) is null =>
            Problem("issue", "Leave out the last two digits: they are the issue number of the card, not part of the driver number."),
        { Length: not Length } =>
            WrongLength(value.Length),
        _ => ProblemInside(value),
    };

    private static InputProblem WrongLength(int length) =>
        Problem("length", string.Create(CultureInfo.InvariantCulture, $"A driver number has {Length} characters; this one has {length}."));

    private static InputProblem? ProblemInside(string value)
    {
        if (!IsSurname(value[..5]))
        {
            return Problem("surname", "The first five characters are letters of the surname, filled up with 9s if it is shorter.");
        }

        if (!char.IsAsciiDigit(value[5]) || !char.IsAsciiDigit(value[10]))
        {
            return Problem("year", "Characters 6 and 11 are digits: the year of birth.");
        }

        if (!AreDigits(value[6..8]) || TwoDigits(value, 6) is not ((>= 1 and <= 12) or (>= 51 and <= 62)))
        {
            return Problem("month", "Characters 7 and 8 are the month of birth, 01 to 12, or 51 to 62 for a woman.");
        }

        if (!AreDigits(value[8..10]) || !DayExists(value))
        {
            return Problem("day", "Characters 9 and 10 are the day of birth, and that month has no such day.");
        }

        if (value[11..13] != "99" && !(char.IsAsciiLetterUpper(value[11]) && IsLetterOrNine(value[12])))
        {
            return Problem("initials", "Characters 12 and 13 are the initials, with 9 for each that is missing.");
        }

        if (!char.IsAsciiLetterOrDigit(value[13]) || NeverDistinguishing.Contains(value[13], StringComparison.Ordinal))
        {
            return Problem("distinguishing", "Character 14 is usually 9, and never one of I, O, Q, Y, Z, 0 or 1.");
        }

        return char.IsAsciiLetterUpper(value[14]) && char.IsAsciiLetterUpper(value[15])
            ? null
            : Problem("check", "The last two characters are letters.");
    }

    private static bool IsSurname(string part)
    {
        var letters = part.TrimEnd('9');
        return letters.Length > 0 && letters.All(char.IsAsciiLetterUpper);
    }

    // In 2000 + year every fourth year is a leap year; so it is in 1900 + year, but for 1900 itself.
    private static bool DayExists(string value)
    {
        var year = 2000 + (value[5] - '0') * 10 + (value[10] - '0');
        var days = CalendarSystem.Iso.GetDaysInMonth(year, TwoDigits(value, 6) % 50);
        return TwoDigits(value, 8) is var day && day >= 1 && day <= days;
    }

    private static bool AreDigits(string part) => part.All(char.IsAsciiDigit);

    private static bool IsLetterOrNine(char c) => char.IsAsciiLetterUpper(c) || c == '9';

    private static int TwoDigits(string value, int at) => (value[at] - '0') * 10 + (value[at + 1] - '0');

    private static InputProblem Problem(string code, string sentence) => new($"driver_number_{code}", sentence);

    private int Digit(int at) => Value[at] - '0';
}
