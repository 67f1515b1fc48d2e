using System.Globalization;
using System.Text;

namespace School.Web.Platform.Layout.Time;

internal enum LineKind
{
    /// <summary>A start.</summary>
    Time,
    Name,

    /// <summary>A state, or a place.</summary>
    Word,
}

/// <summary>One line of a plate.</summary>
/// <param name="Tail">What follows lighter: the end after the start.</param>
internal sealed record PlateLine(LineKind Kind, string Text, string? Tail = null);

/// <summary>Which words a plate has room for, by its minutes and their letters.</summary>
internal static class PlateText
{
    /// <summary>A plate that is shorter shows its time alone.</summary>
    public const int ShortestNamed = 45;

    /// <summary>Left of the words: the post and a little air.</summary>
    public const int Inset = 8;

    // Of the widest of the common system fonts, at 12 and 13 px.
    private const double PlainLetter = 6.9;
    private const double BoldLetter = 7.6;
    private const double WideLetter = 13;
    private const int FewestLetters = 3;

    public static IReadOnlyList<PlateLine> High(TimePlate plate, double minutes, double pixels, string start, string end)
    {
        var room = pixels - Inset;
        if (Length(start, BoldLetter) > room)
        {
            return [];
        }

        var time = new PlateLine(LineKind.Time, start, Length(start, BoldLetter) + Length("–" + end, PlainLetter) <= room ? "–" + end : null);
        if (minutes < ShortestNamed)
        {
            return [time with { Tail = null }];
        }

        if (Length(plate.Who, BoldLetter) <= room || !plate.Who.Contains(' ', StringComparison.Ordinal))
        {
            var word = plate.State is PlateState.Booked ? null : Cut(plate.Word, room, PlainLetter);
            return [time, .. Name(plate.Who, room), .. word is null ? [] : new[] { new PlateLine(LineKind.Word, word) }];
        }

        var space = plate.Who.IndexOf(' ', StringComparison.Ordinal);
        return [time, .. Name(plate.Who[..space], room), .. Name(plate.Who[(space + 1)..], room)];
    }

    /// <summary>All on one line: the start with as much of the name as goes beside it.</summary>
    public static IReadOnlyList<PlateLine> Low(TimePlate plate, double minutes, double pixels, string start)
    {
        var room = pixels - Inset;
        var left = room - Length(start + " ", BoldLetter);
        var first = plate.Who.Split(' ')[0];
        return left < -BoldLetter ? []
            : minutes < ShortestNamed ? [new(LineKind.Time, start)]
            : Length(plate.Who, PlainLetter) <= left ? [new(LineKind.Time, start, " " + Isolated(plate.Who))]
            : Length(first, PlainLetter) <= left ? [new(LineKind.Time, start, " " + Isolated(first))]
            : [new(LineKind.Time, start)];
    }

    /// <summary>The words, or as many of their letters as there is room for and a sign that there were more; null where that says nothing.</summary>
    public static string? Cut(string words, double room, bool bold = false) => Cut(words, room, bold ? BoldLetter : PlainLetter);

    /// <summary>About how wide words are in a picture.</summary>
    public static double Pixels(string words, bool bold) => Length(words, bold ? BoldLetter : PlainLetter);

    private static string? Cut(string words, double room, double letter)
    {
        if (Length(words, letter) <= room)
        {
            return words.Length == 0 ? null : words;
        }

        var kept = new StringBuilder();
        var (used, letters) = (letter, 0);
        for (var rest = StringInfo.GetTextElementEnumerator(words); rest.MoveNext(); letters++)
        {
            var next = Letter(rest.GetTextElement(), letter);
            if (used + next > room)
            {
                break;
            }

            kept.Append(rest.GetTextElement());
            used += next;
        }

        return letters < FewestLetters ? null : kept.ToString().TrimEnd() + "…";
    }

    /// <summary>A name from right to left leaves the words beside it where they are (Unicode UAX 9, isolates).</summary>
    public static string Isolated(string name) => name.EnumerateRunes().Any(RunsLeft) ? $"\u2068{name}\u2069" : name;

    private static IEnumerable<PlateLine> Name(string name, double room) =>
        Cut(name, room, BoldLetter) is { } fits ? [new(LineKind.Name, Isolated(fits))] : [];

    private static double Length(string words, double letter)
    {
        var length = 0.0;
        for (var rest = StringInfo.GetTextElementEnumerator(words); rest.MoveNext();)
        {
            length += Letter(rest.GetTextElement(), letter);
        }

        return length;
    }

    // Hangul, Han and kana are about as wide as high; so is most of what is drawn as a picture.
    private static double Letter(string element, double letter) => Rune.GetRuneAt(element, 0).Value is >= 0x1100 and (< 0x1160 or >= 0x2E80) ? WideLetter : letter;

    // The blocks of Hebrew, Arabic, Syriac, Thaana, N'Ko and what follows them to U+08FF, their presentation forms, and the right-to-left planes.
    private static bool RunsLeft(Rune rune) => rune.Value is (>= 0x0590 and <= 0x08FF) or (>= 0xFB1D and <= 0xFDFF) or (>= 0xFE70 and <= 0xFEFC)
        or (>= 0x10800 and <= 0x10FFF) or (>= 0x1E800 and <= 0x1EFFF);
}
