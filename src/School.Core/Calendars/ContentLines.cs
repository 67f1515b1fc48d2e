using System.Text;

namespace School.Core.Calendars;

/// <summary>Content lines of an iCalendar object: escaped, folded and ended as RFC 5545 section 3.1 says.</summary>
internal sealed class ContentLines
{
    private const int MostOctets = 75;

    private const char ByteOrderMark = '\uFEFF';

    private readonly StringBuilder text = new();

    public override string ToString() => text.ToString();

    /// <summary>Adds a line whose value is written as it stands, without control characters.</summary>
    public void Add(string name, string value) => Fold($"{name}:{Clean(value)}");

    /// <summary>Adds a line whose value is TEXT: a colon is not escaped (RFC 5545 section 3.3.11).</summary>
    public void AddText(string name, string value) => Add(name, Escape(value));

    private static string Escape(string value)
    {
        var lines = value.Trim().ReplaceLineEndings("\n"); // CR, LF and what Unicode counts as one
        var escaped = new StringBuilder(lines.Length);
        foreach (var c in lines)
        {
            escaped.Append(c switch
            {
                '\\' or ';' or ',' => $"\\{c}",
                '\n' => "\\n",
                _ => c.ToString(),
            });
        }

        return escaped.ToString();
    }

    // Control characters are not allowed, half a surrogate pair cannot be encoded, and a byte order mark is dropped by some readers.
    private static string Clean(string value)
    {
        var clean = new StringBuilder(value.Length);
        var rest = value.AsSpan();
        while (!rest.IsEmpty)
        {
            var whole = Rune.DecodeFromUtf16(rest, out var rune, out var used) == System.Buffers.OperationStatus.Done;
            if (whole && (rune.Value == '\t' || !Rune.IsControl(rune)) && rune.Value != ByteOrderMark)
            {
                clean.Append(rest[..used]);
            }

            rest = rest[used..];
        }

        return clean.ToString().TrimEnd();
    }

    // A fold is a line end and one space, and the space counts. No code point is ever divided.
    private void Fold(string line)
    {
        var octets = 0;
        foreach (var rune in line.EnumerateRunes())
        {
            if (octets + rune.Utf8SequenceLength > MostOctets)
            {
                text.Append("\r\n ");
                octets = 1;
            }

            text.Append(rune);
            octets += rune.Utf8SequenceLength;
        }

        text.Append("\r\n");
    }
}
