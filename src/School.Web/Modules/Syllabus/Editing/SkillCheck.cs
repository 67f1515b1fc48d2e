using System.Text.RegularExpressions;
using School.Core.Syllabus;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Syllabus.Editing;

/// <summary>Makes the texts of a skill safe to keep and says what is wrong with them, beside the list that each belongs to.</summary>
internal static partial class SkillCheck
{
    /// <param name="skill">As it was typed or sent; lists may be missing.</param>
    /// <param name="errors">Takes what is wrong.</param>
    /// <param name="prefix">What stands before each field's name, such as <c>Groups[0].Skills[2].</c></param>
    public static Skill Clean(Skill skill, FieldErrors errors, string prefix = "")
    {
        errors.When(skill.Key is not { Length: <= Skill.LongestKey } || !Key().IsMatch(skill.Key), prefix + nameof(skill.Key), $"A key is made of small letters, digits and single hyphens, at most {Skill.LongestKey}.");
        return skill with
        {
            Name = errors.ReadLine(prefix + nameof(skill.Name), skill.Name, Skill.LongestName, "Enter the name of the skill."),
            Aim = errors.ReadLine(prefix + nameof(skill.Aim), skill.Aim, Skill.LongestText),
            Plain = Lines(skill.Plain, errors, prefix + nameof(skill.Plain)),
            Explain = Points(skill.Explain, errors, prefix + nameof(skill.Explain)),
            Demonstrate = Points(skill.Demonstrate, errors, prefix + nameof(skill.Demonstrate)),
            LookFor = Points(skill.LookFor, errors, prefix + nameof(skill.LookFor)),
            Mistakes = Points(skill.Mistakes, errors, prefix + nameof(skill.Mistakes)),
            Safety = Points(skill.Safety, errors, prefix + nameof(skill.Safety)),
            Ask = Questions(skill.Ask, errors, prefix + nameof(skill.Ask)),
            Automatic = Points(skill.Automatic, errors, prefix + nameof(skill.Automatic)),
            Manual = Points(skill.Manual, errors, prefix + nameof(skill.Manual)),
            Rules = Rules(skill.Rules, errors, prefix + nameof(skill.Rules)),
            Practise = Lines(skill.Practise, errors, prefix + nameof(skill.Practise)),
            Needs = [.. Each(skill.Needs, errors, prefix + nameof(skill.Needs)).Distinct(StringComparer.Ordinal)],
        };
    }

    private static List<string> Lines(IReadOnlyList<string>? lines, FieldErrors errors, string field) =>
        [.. Each(lines, errors, field).Select((line, at) => Text(line, errors, field, at))];

    private static List<SkillPoint> Points(IReadOnlyList<SkillPoint>? points, FieldErrors errors, string field) => [.. Each(points, errors, field).Select((point, at) =>
    {
        errors.When(string.IsNullOrWhiteSpace(point.Source) != (point.SourceDate is null), field, $"Line {at + 1}: give the source together with the date of its text, or neither.");
        var source = Source(point.Source, errors, field, at);
        return new SkillPoint(Text(point.Text, errors, field, at), source.Length == 0 ? null : source, point.SourceDate);
    })];

    private static List<SkillQuestion> Questions(IReadOnlyList<SkillQuestion>? questions, FieldErrors errors, string field) =>
        [.. Each(questions, errors, field).Select((ask, at) => new SkillQuestion(Text(ask.Question, errors, field, at), Text(ask.Answer, errors, field, at)))];

    private static List<SkillRule> Rules(IReadOnlyList<SkillRule>? rules, FieldErrors errors, string field) => [.. Each(rules, errors, field).Select((rule, at) =>
    {
        var source = Source(rule.Source, errors, field, at);
        errors.When(source.Length == 0, field, $"Line {at + 1}: say where the rule is published.");
        return new SkillRule(Text(rule.Text, errors, field, at), source, rule.Date);
    })];

    private static string Text(string? typed, FieldErrors errors, string field, int at)
    {
        var text = CleanText.Line(typed);
        errors.When(text.Length == 0, field, $"Line {at + 1} is empty.");
        errors.When(!CleanText.FitsIn(text, Skill.LongestText), field, $"Line {at + 1} is too long: keep it to {Skill.LongestText} characters.");
        errors.When(text.EndsWith(']'), field, $"Line {at + 1}: a text cannot end with a square bracket, which holds a source.");
        return text;
    }

    private static string Source(string? typed, FieldErrors errors, string field, int at)
    {
        var text = CleanText.Line(typed);
        errors.When(!CleanText.FitsIn(text, Skill.LongestSource), field, $"Line {at + 1}: the source is too long; keep it to {Skill.LongestSource} characters.");
        errors.When(text.AsSpan().IndexOfAny('[', ']', ';') >= 0, field, $"Line {at + 1}: a source holds no square brackets and no semicolon.");
        return text;
    }

    private static List<T> Each<T>(IReadOnlyList<T>? items, FieldErrors errors, string field)
        where T : class
    {
        errors.When(items?.Count > Skill.MostInList, field, $"Keep this to {Skill.MostInList} lines.");
        var there = (items ?? []).Take(Skill.MostInList).OfType<T>().ToList();
        errors.When(there.Count < Math.Min(items?.Count ?? 0, Skill.MostInList), field, "A line is missing.");
        return there;
    }

    [GeneratedRegex("^[a-z0-9]+(-[a-z0-9]+)*$")]
    private static partial Regex Key();
}
