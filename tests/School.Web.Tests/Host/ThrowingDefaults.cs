using System.Text.RegularExpressions;

namespace School.Web.Tests.Host;

/// <summary>
/// Finds, in source text, switches that name members of an enum and end in a default arm that throws. Such an arm hides from the
/// compiler a member that was forgotten.
/// </summary>
internal static partial class ThrowingDefaults
{
    /// <summary>Line numbers, from 1, of those arms.</summary>
    public static IEnumerable<int> In(string text, IReadOnlySet<string> enums)
    {
        var code = NotCode().Replace(text, found => Blank(found.Value));
        foreach (Match arm in Arm().Matches(code))
        {
            var patterns = PatternsOf(BodyAround(code, arm.Index, arm.Index + arm.Length));
            if (patterns.SelectMany(pattern => Member().Matches(pattern)).Any(member => enums.Contains(member.Groups[1].Value)))
            {
                yield return code.AsSpan(0, arm.Index).Count('\n') + 1;
            }
        }
    }

    private static string Blank(string text) => string.Concat(text.Select(c => c == '\n' ? '\n' : ' '));

    /// <summary>What stands in the braces around an arm.</summary>
    private static string BodyAround(string code, int from, int to)
    {
        var (start, end) = (Edge(code, from - 1, -1, '{', '}'), Edge(code, to, 1, '}', '{'));
        return code[(start + 1)..end];
    }

    private static int Edge(string code, int at, int step, char edge, char other)
    {
        var depth = 0;
        for (; at >= 0 && at < code.Length; at += step)
        {
            if (code[at] == edge && depth-- == 0)
            {
                return at;
            }

            if (code[at] == other)
            {
                depth++;
            }
        }

        return step < 0 ? -1 : code.Length;
    }

    /// <summary>The patterns of a switch expression's arms and of a switch statement's cases, without what they lead to.</summary>
    private static IEnumerable<string> PatternsOf(string body) =>
        TopLevel(body, ',').Where(arm => arm.Contains("=>", StringComparison.Ordinal)).Select(arm => arm[..arm.IndexOf("=>", StringComparison.Ordinal)])
            .Concat(Case().Matches(body).Select(found => found.Groups[1].Value))
            .Select(pattern => When().Split(pattern)[0]);

    private static IEnumerable<string> TopLevel(string body, char separator)
    {
        var (depth, from) = (0, 0);
        for (var i = 0; i < body.Length; i++)
        {
            depth += body[i] switch { '(' or '[' or '{' => 1, ')' or ']' or '}' => -1, _ => 0 };
            if (depth == 0 && body[i] == separator)
            {
                yield return body[from..i];
                from = i + 1;
            }
        }

        yield return body[from..];
    }

    [GeneratedRegex(""""//[^\n]*|/\*.*?\*/|"{3,}.*?"{3,}|'(\\.|[^'\\\n])+'|@"([^"]|"")*"|"(\\.|[^"\\\n])*"|$^"""", RegexOptions.Singleline)]
    private static partial Regex NotCode();

    [GeneratedRegex(@"(?<![\w.])(_|var\s+\w+|\{\s*\}|\(\s*_(\s*,\s*_)*\s*\))\s*=>\s*throw\b|\bdefault\s*:\s*(\{\s*)?throw\b")]
    private static partial Regex Arm();

    [GeneratedRegex(@"\bcase\s+([^:]+):")]
    private static partial Regex Case();

    [GeneratedRegex(@"\bwhen\b")]
    private static partial Regex When();

    [GeneratedRegex(@"\b(\w+)\.\w+")]
    private static partial Regex Member();
}
