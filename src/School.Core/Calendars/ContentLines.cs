using System.Buffers;
using System.Globalization;
using System.Text;
using NodaTime;

namespace School.Core.Calendars;

/// <summary>
/// Content lines of an iCalendar object, written as UTF-8 where they go: escaped, folded and ended as RFC 5545 section 3.1 says.
/// What is written stands in <paramref name="to"/> for certain only after <see cref="Flush"/>.
/// </summary>
internal ref struct ContentLines(IBufferWriter<byte> to)
{
    private const int MostOctets = 75;
    private const int Rented = 4096;
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

    public void PutNumber<T>(T number, scoped ReadOnlySpan<char> format = default)
        where T : IUtf8SpanFormattable
    {
        Span<byte> digits = stackalloc byte[32];
        number.TryFormat(digits, out var length, format, CultureInfo.InvariantCulture);
        Put(digits[..length]);
    }

    /// <summary>Form 1 of DATE-TIME, or form 2 with a Z after it (RFC 5545 section 3.3.5).</summary>
    public void PutTime(LocalDateTime time)
    {
        var (date, clock) = time;
        Span<byte> text = stackalloc byte[15];
        Digits(text[..4], date.Year);
        Digits(text[4..6], date.Month);
        Digits(text[6..8], date.Day);
        text[8] = (byte)'T';
        Digits(text[9..11], clock.Hour);
        Digits(text[11..13], clock.Minute);
        Digits(text[13..], clock.Second);
        Put(text);
    }

    public void PutUtc(Instant instant)
    {
        PutTime(instant.InUtc().LocalDateTime);
        Put("Z"u8);
    }

    public void End()
    {
        Copy("\r\n"u8);
        octets = 0;
    }

    /// <summary>A whole line that is ASCII and needs no escape.</summary>
    public void Line(scoped ReadOnlySpan<byte> ascii)
    {
        Put(ascii);
        End();
    }

    public void TextLine(scoped ReadOnlySpan<byte> name, string value)
    {
        Put(name);
        PutText(value);
        End();
    }

    /// <summary>Lines that were made before.</summary>
    public void Lines(scoped ReadOnlySpan<byte> whole)
    {
        Copy(whole);
        octets = 0;
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
            space = to.GetSpan(Math.Max(length, Rented));
        }

        return space[used..];
    }
}
