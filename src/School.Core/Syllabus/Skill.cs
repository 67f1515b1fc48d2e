using NodaTime;

namespace School.Core.Syllabus;

/// <summary>One point of teaching. Without a source it is common practice, and the instructor's judgement goes before it.</summary>
/// <param name="Text">One or two sentences.</param>
/// <param name="Source">Where it is published, such as "The Highway Code, rule 163"; null for common practice.</param>
/// <param name="SourceDate">The date of that text; null where there is no source.</param>
public sealed record SkillPoint(
    [property: AtMost(Skill.LongestText)] string Text, [property: AtMost(Skill.LongestSource)] string? Source = null, LocalDate? SourceDate = null);

/// <summary>A question to ask the pupil, with what a good answer holds.</summary>
/// <param name="Question">As it is asked.</param>
/// <param name="Answer">What to listen for.</param>
public sealed record SkillQuestion([property: AtMost(Skill.LongestText)] string Question, [property: AtMost(Skill.LongestText)] string Answer);

/// <summary>An official rule that bears on a skill, in our own words.</summary>
/// <param name="Text">What it asks for.</param>
/// <param name="Source">The publication and number, such as "The Highway Code, rules 159 to 161".</param>
/// <param name="Date">The date of that text.</param>
public sealed record SkillRule([property: AtMost(Skill.LongestText)] string Text, [property: AtMost(Skill.LongestSource)] string Source, LocalDate Date);

/// <summary>What an instructor needs to teach one skill.</summary>
public sealed record Skill
{
    /// <summary>Most characters of a key.</summary>
    public const int LongestKey = 60;

    /// <summary>Most characters of a name.</summary>
    public const int LongestName = 60;

    /// <summary>Most characters of one text.</summary>
    public const int LongestText = 800;

    /// <summary>Most characters of a source.</summary>
    public const int LongestSource = 200;

    /// <summary>Most lines of one list.</summary>
    public const int MostInList = 30;

    /// <summary>Stable across editions, lower case with hyphens: what records refer to.</summary>
    [AtMost(LongestKey)]
    public required string Key { get; init; }

    /// <summary>As the trade says it.</summary>
    [AtMost(LongestName)]
    public required string Name { get; init; }

    /// <summary>What the pupil can do at the end, in one sentence.</summary>
    [AtMost(LongestText)]
    public string Aim { get; init; } = "";

    /// <summary>For the pupil, the evening before: what it is about and why.</summary>
    [Items(0, MostInList), AtMost(LongestText)]
    public IReadOnlyList<string> Plain { get; init; } = [];

    /// <summary>What to explain, in order.</summary>
    [Items(0, MostInList)]
    public IReadOnlyList<SkillPoint> Explain { get; init; } = [];

    /// <summary>What to show.</summary>
    [Items(0, MostInList)]
    public IReadOnlyList<SkillPoint> Demonstrate { get; init; } = [];

    /// <summary>What good looks like from the passenger seat.</summary>
    [Items(0, MostInList)]
    public IReadOnlyList<SkillPoint> LookFor { get; init; } = [];

    /// <summary>What commonly goes wrong, and what helps.</summary>
    [Items(0, MostInList)]
    public IReadOnlyList<SkillPoint> Mistakes { get; init; } = [];

    /// <summary>What can hurt somebody, and how the instructor keeps it from doing so.</summary>
    [Items(0, MostInList)]
    public IReadOnlyList<SkillPoint> Safety { get; init; } = [];

    /// <summary>Questions that show whether the pupil has understood.</summary>
    [Items(0, MostInList)]
    public IReadOnlyList<SkillQuestion> Ask { get; init; } = [];

    /// <summary>What is particular in an automatic car.</summary>
    [Items(0, MostInList)]
    public IReadOnlyList<SkillPoint> Automatic { get; init; } = [];

    /// <summary>What is particular in a manual car.</summary>
    [Items(0, MostInList)]
    public IReadOnlyList<SkillPoint> Manual { get; init; } = [];

    /// <summary>The official rules that bear on it.</summary>
    [Items(0, MostInList)]
    public IReadOnlyList<SkillRule> Rules { get; init; } = [];

    /// <summary>What the pupil can do about it between lessons.</summary>
    [Items(0, MostInList), AtMost(LongestText)]
    public IReadOnlyList<string> Practise { get; init; } = [];

    /// <summary>Keys of the skills that should stand first.</summary>
    [Items(0, MostInList), AtMost(LongestKey)]
    public IReadOnlyList<string> Needs { get; init; } = [];
}

/// <summary>Skills that belong together.</summary>
/// <param name="Name">As the trade says it.</param>
/// <param name="Skills">In the order they are taught.</param>
public sealed record SkillGroup(
    [property: AtMost(Skill.LongestName)] string Name, [property: Items(1, SyllabusEdition.MostSkills)] IReadOnlyList<Skill> Skills);
