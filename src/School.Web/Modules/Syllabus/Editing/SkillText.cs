using System.Globalization;
using System.Text.RegularExpressions;
using NodaTime;
using NodaTime.Text;
using School.Core.Syllabus;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Syllabus.Editing;

/// <summary>
/// The lists of a skill as a person types them: one point a line, its source in square brackets at the end with the date of that
/// text after a semicolon, as in <c>… [The Highway Code, rule 163; 20 June 2024]</c>. Questions stand in two lines each, the answer
/// under the question, with an empty line between them.
/// </summary>
internal static partial class SkillText
{
    private static readonly CultureInfo English = CultureInfo.GetCultureInfo("en-GB");
    private static readonly LocalDatePattern Written = LocalDatePattern.Create("d MMMM uuuu", English);

    private static readonly LocalDatePattern[] Dates =
        [Written, LocalDatePattern.Iso, LocalDatePattern.Create("d MMM uuuu", English), LocalDatePattern.Create("d/M/uuuu", English)];

    public static string Of(IEnumerable<string> lines) => string.Join('\n', lines);

    public static string Of(IEnumerable<SkillPoint> points) => Of(points.Select(point => point.Text + Bracket(point.Source, point.SourceDate)));

    public static string Of(IEnumerable<SkillRule> rules) => Of(rules.Select(rule => rule.Text + Bracket(rule.Source, rule.Date)));

    public static string Of(IEnumerable<SkillQuestion> questions) => string.Join("\n\n", questions.Select(ask => $"{ask.Question}\n{ask.Answer}"));

    public static string Of(LocalDate date) => Written.Format(date);

    public static IReadOnlyList<string> ReadLines(string? typed) => [.. CleanText.Lines(typed).Split('\n').Where(line => line.Length > 0)];

    public static IReadOnlyList<SkillPoint> ReadPoints(FieldErrors errors, string field, string? typed) =>
        [.. ReadLines(typed).Select((line, at) => Sourced(line, errors, field, at)).Select(read => new SkillPoint(read.Text, read.Source, read.Date))];

    public static IReadOnlyList<SkillRule> ReadRules(FieldErrors errors, string field, string? typed) => [.. ReadLines(typed).Select((line, at) =>
    {
        var (text, source, date) = Sourced(line, errors, field, at);
        errors.When(source is null && !line.EndsWith(']'), field, $"Line {at + 1}: a rule needs its source. {How}");
        return new SkillRule(text, source ?? "", date ?? default);
    })];

    public static IReadOnlyList<SkillQuestion> ReadQuestions(FieldErrors errors, string field, string? typed)
    {
        var blocks = CleanText.Lines(typed).Split("\n\n").Where(block => block.Length > 0).Select(block => block.Split('\n')).ToList();
        foreach (var block in blocks.Where(block => block.Length != 2))
        {
            errors.Add(field, $"“{block[0]}” needs its answer in the one line under it, and an empty line before the next question.");
        }

        return [.. blocks.Where(block => block.Length == 2).Select(block => new SkillQuestion(block[0], block[1]))];
    }

    private const string How = "Put it in square brackets at the end, with the date of its text after a semicolon, such as [The Highway Code, rule 163; 20 June 2024].";

    private static (string Text, string? Source, LocalDate? Date) Sourced(string line, FieldErrors errors, string field, int at)
    {
        if (!line.EndsWith(']'))
        {
            return (line, null, null);
        }

        if (SourceAtEnd().Match(line) is not { Success: true } match
            || Dates.Select(pattern => pattern.Parse(match.Groups["date"].Value.Trim())).FirstOrDefault(read => read.Success) is not { } date)
        {
            errors.Add(field, $"Line {at + 1}: the source cannot be read. {How}");
            return (line.TrimEnd(']'), null, null);
        }

        return (match.Groups["text"].Value.Trim(), match.Groups["source"].Value.Trim(), date.Value);
    }

    private static string Bracket(string? source, LocalDate? date) => source is null ? "" : $" [{source}; {(date is { } on ? Of(on) : "")}]";

    [GeneratedRegex(@"^(?<text>[^\[]*\S.*?)\s*\[(?<source>[^\[\];]*[^\[\];\s][^\[\];]*);(?<date>[^\[\];]+)\]$")]
    private static partial Regex SourceAtEnd();
}
