using System.Buffers;
using System.Buffers.Text;
using System.Text;
using NodaTime;

namespace School.Core.Calendars;

/// <summary>
/// Content lines of an iCalendar object, written as UTF-8 where they go: escaped, folded and ended as RFC 5545 section 3.1 says.
/// What is written stands in <paramref name="to"/> for certain only after <see cref="Flush"/>. Where it is known how much there will
/// be, so much is asked for at first.
/// </summary>
internal ref struct ContentLines(IBufferWriter<byte> to, int expected = 0)
{
    private const int MostOctets = 75;
    private const int AtATime = 4096;
    private const int LongestTime = 16;
    private const int SecondsPerDay = 86_400;
    private const char ByteOrderMark = '\uFEFF';

    // An ASCII run of these is copied as it stands; all else is looked at one by one.
    private static readonly SearchValues<char> Plain = SearchValues.Create([.. Printable()]);
    private static readonly SearchValues<char> PlainInText = SearchValues.Create([.. Printable().Except(['\\', ';', ','])]);

    private Span<byte> space = default;
    private int used = 0;
    private int octets = 0;

    /// <summary>Name, parameters and whatever else is ASCII and needs no escape.</summary>
    public void Put(scoped ReadOnlySpan<byte> ascii)
    {
        while (octets + ascii.Length > MostOctets)
        {
            var fits = MostOctets - octets;
            Copy(ascii[..fits]);
            ascii = ascii[fits..];
            Fold();
        }

        Copy(ascii);
    }

    /// <summary>A value that is written as it stands, without what may not occur.</summary>
    public void PutValue(string value) => PutChars(Told(value), Plain, isText: false);

    /// <summary>A value of type TEXT: a colon is not escaped (RFC 5545 section 3.3.11).</summary>
    public void PutText(string value) => PutChars(Told(value), PlainInText, isText: true);

    /// <summary>A whole number, not negative.</summary>
    public void PutNumber(long number)
    {
        Span<byte> digits = stackalloc byte[20];
        Utf8Formatter.TryFormat(number, digits, out var length);
        Put(digits[..length]);
    }

    /// <summary>Degrees to six places (RFC 5545 section 3.8.1.6), a tenth of a metre.</summary>
    public void PutDegrees(double degrees)
    {
        var millionths = (long)Math.Round(degrees * 1_000_000, MidpointRounding.AwayFromZero);
        Span<byte> text = stackalloc byte[12];
        var length = 0;
        if (millionths < 0)
        {
            text[length++] = (byte)'-';
        }

        var (whole, part) = Math.DivRem(Math.Abs(millionths), 1_000_000);
        Utf8Formatter.TryFormat(whole, text[length..], out var digits);
        length += digits;
        text[length++] = (byte)'.';
        Digits(text.Slice(length, 6), (int)part);
        Put(text[..(length + 6)]);
    }

    /// <summary>
    /// Form 1 of DATE-TIME (RFC 5545 section 3.3.5): what a clock shows that many seconds after it showed the beginning of 1970; with a Z after
    /// it, form 2. Formatting by pattern took most of the time that a feed took.
    /// </summary>
    public void EndWithTime(long seconds, bool utc)
    {
        if (octets + LongestTime > MostOctets)
        {
            Fold();
        }

        var days = (int)Math.Floor(seconds / (double)SecondsPerDay);
        var second = (int)(seconds - days * (long)SecondsPerDay);
        var (year, month, day) = Date(days);
        var text = Room(LongestTime + 2)[..(LongestTime + 2)];
        Pair(text, 0, year / 100);
        Pair(text, 2, year % 100);
        Pair(text, 4, month);
        Pair(text, 6, day);
        text[8] = (byte)'T';
        Pair(text, 9, second / 3600);
        Pair(text, 11, second / 60 % 60);
        Pair(text, 13, second % 60);
        text[15] = (byte)'Z';
        used += utc ? LongestTime : LongestTime - 1;
        End();
    }

    public void End() => Whole("\r\n"u8);

    /// <summary>Whole lines, or the end of one, that are ASCII, need no escape and are not long.</summary>
    public void Whole(scoped ReadOnlySpan<byte> ascii)
    {
        Copy(ascii);
        octets = 0;
    }

    public void TextLine(scoped ReadOnlySpan<byte> name, string value)
    {
        Put(name);
        PutText(value);
        End();
    }

    public void Flush()
    {
        to.Advance(used);
        space = default;
        used = 0;
    }

    // White space at the ends says nothing and is lost in some readers.
    private static ReadOnlySpan<char> Told(ReadOnlySpan<char> value)
    {
        if (value is [> ' ' and <= '~', .., > ' ' and <= '~'])
        {
            return value;
        }

        while (!value.IsEmpty && IsLeftOut(Rune.DecodeFromUtf16(value, out var first, out var length), first))
        {
            value = value[length..];
        }

        while (!value.IsEmpty && IsLeftOut(Rune.DecodeLastFromUtf16(value, out var last, out var length), last))
        {
            value = value[..^length];
        }

        return value;

        static bool IsLeftOut(OperationStatus status, Rune rune) => !MayOccur(status, rune) || Rune.IsWhiteSpace(rune);
    }

    // Control characters are not allowed, half a surrogate pair cannot be encoded, and a byte order mark is dropped by some readers.
    private static bool MayOccur(OperationStatus status, Rune rune) =>
        status == OperationStatus.Done && (rune.Value == '\t' || !Rune.IsControl(rune)) && rune.Value != ByteOrderMark;

    // The Gregorian calendar counted from 1 March of the year 0, when its leap day comes last (Hinnant, chrono-Compatible Low-Level Date
    // Algorithms, civil_from_days).
    private static (int Year, int Month, int Day) Date(int daysSince1970)
    {
        const int DaysPerEra = 146_097;
        var days = daysSince1970 + 719_468;
        var era = Math.DivRem(days, DaysPerEra) is var (whole, rest) && rest < 0 ? whole - 1 : whole;
        var ofEra = days - era * DaysPerEra;
        var yearOfEra = (ofEra - ofEra / 1_460 + ofEra / 36_524 - ofEra / (DaysPerEra - 1)) / 365;
        var ofYear = ofEra - (365 * yearOfEra + yearOfEra / 4 - yearOfEra / 100);
        var fromMarch = (5 * ofYear + 2) / 153;
        var month = fromMarch < 10 ? fromMarch + 3 : fromMarch - 9;
        return (yearOfEra + era * 400 + (month <= 2 ? 1 : 0), month, ofYear - (153 * fromMarch + 2) / 5 + 1);
    }

    private static void Pair(Span<byte> text, int at, int number)
    {
        text[at] = (byte)('0' + number / 10);
        text[at + 1] = (byte)('0' + number % 10);
    }

    private static void Digits(Span<byte> text, int number)
    {
        for (var at = text.Length - 1; at >= 0; at--)
        {
            text[at] = (byte)('0' + number % 10);
            number /= 10;
        }
    }

    private static IEnumerable<char> Printable() => Enumerable.Range(' ', '~' - ' ' + 1).Select(code => (char)code).Append('\t');

    private void PutChars(ReadOnlySpan<char> value, SearchValues<char> plain, bool isText)
    {
        while (!value.IsEmpty)
        {
            var run = value.IndexOfAnyExcept(plain);
            if (run != 0)
            {
                run = run < 0 ? value.Length : run;
                PutAscii(value[..run]);
            }
            else
            {
                run = isText ? PutEscaped(value) : PutRune(value);
            }

            value = value[run..];
        }
    }

    private void PutAscii(ReadOnlySpan<char> run)
    {
        while (!run.IsEmpty)
        {
            if (octets == MostOctets)
            {
                Fold();
            }

            var fits = Math.Min(run.Length, MostOctets - octets);
            Ascii.FromUtf16(run[..fits], Room(fits), out _);
            (used, octets) = (used + fits, octets + fits);
            run = run[fits..];
        }
    }

    // A line end is CR, LF, both, or what Unicode counts as one (section 5.8, NLF and the two separators).
    private int PutEscaped(ReadOnlySpan<char> value)
    {
        switch (value[0])
        {
            case '\\' or ';' or ',':
                PutWhole([(byte)'\\', (byte)value[0]]);
                return 1;
            case '\r' or '\n' or '\f' or '\u0085' or '\u2028' or '\u2029':
                PutWhole("\\n"u8);
                return value.StartsWith("\r\n") ? 2 : 1;
            default:
                return PutRune(value);
        }
    }

    private int PutRune(ReadOnlySpan<char> value)
    {
        var status = Rune.DecodeFromUtf16(value, out var rune, out var length);
        if (MayOccur(status, rune))
        {
            Span<byte> sequence = stackalloc byte[4];
            PutWhole(sequence[..rune.EncodeToUtf8(sequence)]);
        }

        return length;
    }

    // No code point is ever divided, nor an escape from what it escapes.
    private void PutWhole(scoped ReadOnlySpan<byte> sequence)
    {
        if (octets + sequence.Length > MostOctets)
        {
            Fold();
        }

        Copy(sequence);
    }

    // A fold is a line end and one space, and the space counts.
    private void Fold()
    {
        Copy("\r\n "u8);
        octets = 1;
    }

    private void Copy(scoped ReadOnlySpan<byte> bytes)
    {
        bytes.CopyTo(Room(bytes.Length));
        (used, octets) = (used + bytes.Length, octets + bytes.Length);
    }

    private Span<byte> Room(int length)
    {
        if (space.Length - used < length)
        {
            Flush();
            space = to.GetSpan(Math.Max(length, Math.Max(expected, AtATime)));
            expected = 0;
        }

        return space[used..];
    }
}
