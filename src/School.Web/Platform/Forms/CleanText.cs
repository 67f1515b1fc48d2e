using System.Globalization;
using System.Text;
using School.Web.Platform.Errors;

namespace School.Web.Platform.Forms;

/// <summary>
/// Text as somebody typed it, made safe to keep and show: normal form C, single spaces, no control characters, none that turn
/// the direction of the text around them (Unicode TR 36, section 2.3) and no halves of characters. Emoji, letters of every
/// script and the joiners between them stay.
/// </summary>
internal static class CleanText
{
    // A family emoji takes eleven chars, one grapheme; this leaves room for such and none for towers of accents.
    private const int CharsPerGrapheme = 8;

    /// <summary>One line; empty when nothing visible is left.</summary>
    public static string Line(string? text)
    {
        var clean = new StringBuilder();
        var visible = false;
        var gap = false;
        foreach (var rune in (text ?? "").EnumerateRunes())
        {
            if (Rune.IsWhiteSpace(rune))
            {
                gap = true;
            }
            else if (!IsStripped(rune))
            {
                if (gap && clean.Length > 0)
                {
                    clean.Append(' ');
                }

                gap = false;
                visible |= Rune.GetUnicodeCategory(rune) is not (UnicodeCategory.Format or UnicodeCategory.NonSpacingMark);
                clean.Append(rune.ToString());
            }
        }

        return visible ? clean.ToString().Normalize(NormalizationForm.FormC) : "";
    }

    /// <summary>Several lines, each cleaned; at most one empty line in a row and none at the ends.</summary>
    public static string Lines(string? text)
    {
        var lines = (text ?? "").ReplaceLineEndings("\n").Split('\n').Select(Line).ToList();
        var kept = lines.Where((line, at) => line.Length > 0 || (at > 0 && lines[at - 1].Length > 0));
        return string.Join('\n', kept).Trim('\n');
    }

    /// <summary>Whether the text has at most so many characters as people count them (grapheme clusters).</summary>
    public static bool FitsIn(string text, int most) =>
        text.Length <= most || (text.Length <= most * CharsPerGrapheme && new StringInfo(text).LengthInTextElements <= most);

    /// <summary>A line that must be there.</summary>
    public static string ReadLine(this FieldErrors errors, string field, string? typed, int most, string missing)
    {
        var text = errors.ReadLine(field, typed, most);
        errors.When(text.Length == 0, field, missing);
        return text;
    }

    /// <summary>A line that may be left empty.</summary>
    public static string ReadLine(this FieldErrors errors, string field, string? typed, int most) =>
        errors.Short(field, Line(typed), most);

    /// <summary>Several lines that may be left empty.</summary>
    public static string ReadLines(this FieldErrors errors, string field, string? typed, int most) =>
        errors.Short(field, Lines(typed), most);

    private static string Short(this FieldErrors errors, string field, string text, int most)
    {
        errors.When(!FitsIn(text, most), field, $"This is too long: keep it to {most} characters.");
        return text;
    }

    // U+FFFD is also what half a surrogate pair reads as; U+xxFFFE and U+xxFFFF are no characters.
    private static bool IsStripped(Rune rune) =>
        Rune.GetUnicodeCategory(rune) is UnicodeCategory.Control or UnicodeCategory.PrivateUse
        || (rune.Value & 0xFFFE) == 0xFFFE
        || rune.Value is 0xFFFD or 0x200B or 0x2060 or 0xFEFF or (>= 0x202A and <= 0x202E) or (>= 0x2066 and <= 0x2069);
}
