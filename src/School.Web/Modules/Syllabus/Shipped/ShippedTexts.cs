using System.Text.RegularExpressions;
using NodaTime;
using School.Core.Syllabus;

namespace School.Web.Modules.Syllabus.Shipped;

/// <summary>
/// Reads the texts that come with the service. An official value stands in them as its name in braces, as in <c>at least {gap} behind</c>, and is put
/// in here; a text that names no source of its own takes the source of its values.
/// </summary>
internal sealed partial class ShippedTexts
{
    private readonly Dictionary<string, OfficialValue> _values = new(StringComparer.Ordinal);
    private readonly List<string> _faults = [];
    private readonly HashSet<string> _used = new(StringComparer.Ordinal);

    private ShippedTexts()
    {
    }

    public IReadOnlyList<SkillGroup> Groups { get; private set; } = [];

    /// <summary>Names of values that no text refers to.</summary>
    public IEnumerable<string> Unused => _values.Keys.Where(name => !_used.Contains(name));

    /// <exception cref="InvalidDataException">Something is wrong in them; says all of it.</exception>
    public static ShippedTexts Read(IReadOnlyList<OfficialValue> values, IReadOnlyList<SkillGroup> groups)
    {
        var texts = new ShippedTexts();
        foreach (var value in values)
        {
            texts.Take(value);
        }

        texts.Groups = [.. groups.Select(group => group with { Skills = [.. group.Skills.Select(texts.Filled)] })];
        return texts._faults.Count == 0 ? texts : throw new InvalidDataException(string.Join('\n', texts._faults));
    }

    private void Take(OfficialValue value)
    {
        if (!ValueName().IsMatch(value.Name ?? ""))
        {
            _faults.Add($"Value “{value.Name}”: a name is made of small letters, digits and single hyphens.");
        }
        else if (!_values.TryAdd(value.Name!, value))
        {
            _faults.Add($"Value “{value.Name}” stands there twice.");
        }

        foreach (var (part, text) in new[] { ("text", value.Text), ("place where it holds", value.Where), ("source", value.Source) })
        {
            if (string.IsNullOrWhiteSpace(text) || text.AsSpan().IndexOfAny('{', '}') >= 0)
            {
                _faults.Add($"Value “{value.Name}”: its {part} is missing or holds a brace.");
            }
        }
    }

    private Skill Filled(Skill skill)
    {
        IReadOnlyList<string> Lines(string part, IReadOnlyList<string> lines) => [.. lines.Select((line, at) => Text($"{skill.Key}, {part} {at + 1}", line).Text)];
        IReadOnlyList<SkillPoint> Points(string part, IReadOnlyList<SkillPoint> points) => [.. points.Select((point, at) =>
        {
            var (text, values) = Text($"{skill.Key}, {part} {at + 1}", point.Text);
            var (source, date) = Sourced(point.Source, point.SourceDate, values);
            return new SkillPoint(text, source, date);
        })];

        return skill with
        {
            Aim = Text($"{skill.Key}, aim", skill.Aim).Text,
            Plain = Lines("plain", skill.Plain),
            Explain = Points("explain", skill.Explain),
            Demonstrate = Points("demonstrate", skill.Demonstrate),
            LookFor = Points("lookFor", skill.LookFor),
            Mistakes = Points("mistakes", skill.Mistakes),
            Safety = Points("safety", skill.Safety),
            Ask = [.. skill.Ask.Select((ask, at) => new SkillQuestion(Text($"{skill.Key}, ask {at + 1}", ask.Question).Text, Text($"{skill.Key}, ask {at + 1}", ask.Answer).Text))],
            Automatic = Points("automatic", skill.Automatic),
            Manual = Points("manual", skill.Manual),
            Rules = [.. skill.Rules.Select((rule, at) =>
            {
                var (text, values) = Text($"{skill.Key}, rules {at + 1}", rule.Text);
                if (rule.Source is null)
                {
                    _faults.Add($"{skill.Key}, rules {at + 1}: a rule names its source.");
                }

                return new SkillRule(text, Sourced(rule.Source ?? "", rule.Date, values).Source!, rule.Date);
            })],
            Practise = Lines("practise", skill.Practise),
        };
    }

    private (string Text, List<OfficialValue> Values) Text(string place, string text)
    {
        var found = new List<OfficialValue>();
        var filled = Reference().Replace(text, match =>
        {
            if (!_values.TryGetValue(match.Groups["name"].Value, out var value))
            {
                _faults.Add($"{place}: no value is named “{match.Groups["name"].Value}”.");
                return "";
            }

            found.Add(value);
            _used.Add(value.Name);
            // A value may begin a sentence.
            return match.Index == 0 ? char.ToUpperInvariant(value.Text[0]) + value.Text[1..] : value.Text;
        });
        if (filled.AsSpan().IndexOfAny('{', '}') >= 0)
        {
            _faults.Add($"{place}: a brace stands alone.");
        }

        return (filled, found);
    }

    private static (string? Source, LocalDate? Date) Sourced(string? source, LocalDate? date, List<OfficialValue> values)
    {
        if (source is null && values.Count > 0)
        {
            return (string.Join(", and ", values.Select(value => value.Source).Distinct(StringComparer.Ordinal)), values.Min(value => value.SourceDate));
        }

        // What rests on a value from memory is from memory itself.
        return source is not null && !source.EndsWith(SourcedTexts.Memory, StringComparison.Ordinal)
            && values.Exists(value => value.Source.EndsWith(SourcedTexts.Memory, StringComparison.Ordinal))
                ? ($"{source} {SourcedTexts.Memory}", date)
                : (source, date);
    }

    [GeneratedRegex("^[a-z0-9]+(-[a-z0-9]+)*$")]
    private static partial Regex ValueName();

    [GeneratedRegex(@"\{(?<name>[^{}]*)\}")]
    private static partial Regex Reference();
}
