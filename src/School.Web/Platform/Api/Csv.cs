using System.Buffers;
using System.Text;

namespace School.Web.Platform.Api;

/// <summary>
/// Comma-separated values as RFC 4180 has them. A cell that a spreadsheet would take for a formula gets an apostrophe before it,
/// which spreadsheets read as “this is text”.
/// </summary>
internal static class Csv
{
    public const string ContentType = "text/csv";
    private const string LineEnd = "\r\n";

    // OWASP, "CSV Injection", from memory: = + - @ tab and carriage return, also in their wide forms.
    private static readonly SearchValues<char> Formula = SearchValues.Create("=+-@\t\r\n\uFF1D\uFF0B\uFF0D\uFF20");
    private static readonly SearchValues<char> Quoted = SearchValues.Create(",\"\r\n");

    public static string Write(IEnumerable<IReadOnlyList<string>> rows)
    {
        var text = new StringBuilder();
        foreach (var row in rows)
        {
            text.AppendJoin(',', row.Select(Cell)).Append(LineEnd);
        }

        return text.ToString();
    }

    private static string Cell(string value)
    {
        var text = IsFormula(value) ? "'" + value : value;
        return text.AsSpan().ContainsAny(Quoted) ? $"\"{text.Replace("\"", "\"\"", StringComparison.Ordinal)}\"" : text;
    }

    // Spaces before a formula do not stop every spreadsheet.
    private static bool IsFormula(string value) => value.AsSpan().TrimStart(' ') is [var first, ..] && Formula.Contains(first);
}
