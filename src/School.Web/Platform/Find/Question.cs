using System.Globalization;
using System.Text;
using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Platform.Find;

/// <summary>What somebody looks for, in the forms in which it is compared.</summary>
/// <param name="Words">Without accents, in small letters; letters, marks and digits alone, so that nothing in them means anything to the database.</param>
/// <param name="Digits">Of a telephone number, as far as E.164 has them; empty where it is none.</param>
/// <param name="Address">A part of an e-mail address; empty where it is none.</param>
internal sealed record Question(IReadOnlyList<string> Words, string Digits, string Address)
{
    public const int Longest = 200;
    public const int MostWords = 6;
    public const string Missing = "Say what you look for.";
    public static readonly string TooLong = string.Create(CultureInfo.InvariantCulture, $"This is too long to be looked for: keep it to {Longest} characters.");
    private const int FewestDigits = 4;

    /// <summary>The address as a pattern of LIKE, whose backslash escapes.</summary>
    public string AddressPattern { get; } = $"%{Address.Replace(@"\", @"\\", StringComparison.Ordinal).Replace("%", @"\%", StringComparison.Ordinal).Replace("_", @"\_", StringComparison.Ordinal)}%";

    public string Joined { get; } = string.Join(' ', Words);

    /// <summary>Without spaces, as plates and references are compared; empty where it is too short to be a part of one.</summary>
    public string Compact { get; } = string.Concat(Words) is { Length: >= 3 } all ? all : "";

    public static async Task<Outcome<Question>> ReadAsync(SchoolDb db, string? typed, CancellationToken cancel)
    {
        if (string.IsNullOrWhiteSpace(typed))
        {
            return Refusal.Invalid("q", Missing);
        }

        if (typed.Length > Longest)
        {
            return Refusal.Invalid("q", TooLong);
        }

        var text = CleanText.Line(CleanText.Line(typed).Normalize(NormalizationForm.FormKC));
        var words = Parted(text).ToLowerInvariant();
        if (!Ascii.IsValid(words))
        {
            // By the database, which does the same to what it is compared with.
            words = Parted((await db.PlainAsync([words], cancel))[0]);
        }

        return new Question(
            [.. words.Split(' ', StringSplitOptions.RemoveEmptyEntries).Take(MostWords)], DigitsOf(text), text.Contains('@', StringComparison.Ordinal) && !text.Contains(' ', StringComparison.Ordinal) ? text : "");
    }

    /// <summary>How well a name fits whose plain form this is.</summary>
    public Fit FitOf(string plain)
    {
        var name = plain.Trim();
        return name == Joined ? Fit.Whole
            : name.StartsWith(Joined, StringComparison.Ordinal) ? Fit.Start
            : Begins(plain) ? Fit.Words
            : Fit.Similar;
    }

    /// <summary>Whether each word begins one of a name's.</summary>
    public bool Begins(string plain) => Words.Count > 0 && Words.All(word => plain.Contains($" {word}", StringComparison.Ordinal));

    private static string Parted(string text)
    {
        var parted = new StringBuilder(text.Length);
        foreach (var rune in text.EnumerateRunes())
        {
            parted.Append(Rune.IsLetterOrDigit(rune) || Rune.GetUnicodeCategory(rune) is UnicodeCategory.NonSpacingMark or UnicodeCategory.SpacingCombiningMark ? rune.ToString() : " ");
        }

        return parted.ToString();
    }

    /// <summary>People write +44, 0044 or 0, and a (0) after the country that nobody dials from abroad.</summary>
    private static string DigitsOf(string text)
    {
        if (text.Any(char.IsLetter) || text.Contains('@', StringComparison.Ordinal))
        {
            return "";
        }

        var digits = string.Concat(text.Where(char.IsDigit).Select(c => (char)('0' + CharUnicodeInfo.GetDecimalDigitValue(c))));
        var abroad = text.TrimStart(' ', '(').StartsWith('+') || digits.StartsWith("00", StringComparison.Ordinal);
        digits = digits.TrimStart('0');
        digits = abroad && digits.StartsWith("440", StringComparison.Ordinal) ? $"44{digits[3..]}" : digits;
        return digits.Length >= FewestDigits ? digits : "";
    }
}
