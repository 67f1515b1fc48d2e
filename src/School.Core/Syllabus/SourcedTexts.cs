using NodaTime;

namespace School.Core.Syllabus;

/// <summary>A text of the syllabus that rests on a publication.</summary>
/// <param name="Skill">Whose text it is.</param>
/// <param name="Part">The list it stands in, in words, such as "safety".</param>
/// <param name="Text">The text.</param>
/// <param name="Source">Where it is published; one that nobody has read for it ends with <see cref="SourcedTexts.Memory"/>.</param>
/// <param name="Date">The date of the words that it was last held against.</param>
public sealed record SourcedText(Skill Skill, string Part, string Text, string Source, LocalDate Date)
{
    /// <summary>Whether it was written from memory and its source still has to be read.</summary>
    public bool FromMemory => Source.EndsWith(SourcedTexts.Memory, StringComparison.Ordinal);
}

/// <summary>A publication as texts of the syllabus name it.</summary>
/// <param name="Name">With the rule or section.</param>
/// <param name="Date">The date of its words.</param>
public sealed record TextSource(string Name, LocalDate Date);

/// <summary>Which texts of a syllabus should be held against their sources again. Texts without a source are common practice and do not age.</summary>
public static class SourcedTexts
{
    /// <summary>What ends the source of a text that was written from memory.</summary>
    public const string Memory = "(from memory)";

    /// <summary>Every text that names a source, in the order of the syllabus.</summary>
    public static IEnumerable<SourcedText> Of(SyllabusEdition edition)
    {
        ArgumentNullException.ThrowIfNull(edition);
        return edition.Skills.SelectMany(skill => Lists(skill)
            .SelectMany(list => list.Points.Where(point => point is { Source: not null, SourceDate: not null })
                .Select(point => new SourcedText(skill, list.Part, point.Text, point.Source!, point.SourceDate!.Value)))
            .Concat(skill.Rules.Select(rule => new SourcedText(skill, "rules", rule.Text, rule.Source, rule.Date))));
    }

    /// <summary>Those whose source is dated more than a year before a day, and those from memory whatever their date; the oldest first, those of one source together.</summary>
    public static IReadOnlyList<SourcedText> OldOn(SyllabusEdition edition, LocalDate today) =>
        [.. Of(edition).Where(text => text.FromMemory || text.Date.PlusYears(1) < today).OrderBy(text => text.Date).ThenBy(text => text.Source, StringComparer.Ordinal)];

    /// <summary>The syllabus after somebody has read sources and found that the texts still say the same: they are dated anew, and are from memory no longer.</summary>
    public static SyllabusEdition Reread(this SyllabusEdition edition, IReadOnlySet<TextSource> sources, LocalDate on)
    {
        ArgumentNullException.ThrowIfNull(edition);
        ArgumentNullException.ThrowIfNull(sources);
        List<SkillPoint> Points(IReadOnlyList<SkillPoint> points) =>
            [.. points.Select(point => point is { Source: { } source, SourceDate: { } date } && sources.Contains(new(source, date)) ? point with { Source = Read(source), SourceDate = on } : point)];
        return edition with
        {
            Groups = [.. edition.Groups.Select(group => group with
            {
                Skills = [.. group.Skills.Select(skill => skill with
                {
                    Explain = Points(skill.Explain),
                    Demonstrate = Points(skill.Demonstrate),
                    LookFor = Points(skill.LookFor),
                    Mistakes = Points(skill.Mistakes),
                    Safety = Points(skill.Safety),
                    Automatic = Points(skill.Automatic),
                    Manual = Points(skill.Manual),
                    Rules = [.. skill.Rules.Select(rule => sources.Contains(new(rule.Source, rule.Date)) ? rule with { Source = Read(rule.Source), Date = on } : rule)],
                })],
            })],
        };
    }

    private static string Read(string source) => source.EndsWith(Memory, StringComparison.Ordinal) ? source[..^Memory.Length].TrimEnd() : source;

    private static (string Part, IReadOnlyList<SkillPoint> Points)[] Lists(Skill skill) =>
    [
        ("explain", skill.Explain), ("demonstrate", skill.Demonstrate), ("look for", skill.LookFor), ("common mistakes", skill.Mistakes),
        ("safety", skill.Safety), ("automatic", skill.Automatic), ("manual", skill.Manual),
    ];
}
