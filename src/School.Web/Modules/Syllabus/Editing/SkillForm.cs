using School.Core.Syllabus;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Syllabus.Editing;

/// <summary>A skill and the group it is to be in.</summary>
internal sealed record PlacedSkill(Skill Skill, string Group);

/// <summary>A skill as the office types it; what the lists look like is told by <see cref="SkillText"/>.</summary>
internal sealed class SkillForm
{
    public string? Name { get; set; }

    public string? Group { get; set; }

    /// <summary>Name of a group to be made; goes before <see cref="Group"/>.</summary>
    public string? NewGroup { get; set; }

    public string? Aim { get; set; }

    public string? Plain { get; set; }

    public string? Explain { get; set; }

    public string? Demonstrate { get; set; }

    public string? LookFor { get; set; }

    public string? Mistakes { get; set; }

    public string? Safety { get; set; }

    public string? Ask { get; set; }

    public string? Automatic { get; set; }

    public string? Manual { get; set; }

    public string? Rules { get; set; }

    public string? Practise { get; set; }

    public List<string> Needs { get; set; } = [];

    public static SkillForm Of(Skill skill, string group) => new()
    {
        Name = skill.Name,
        Group = group,
        Aim = skill.Aim,
        Plain = SkillText.Of(skill.Plain),
        Explain = SkillText.Of(skill.Explain),
        Demonstrate = SkillText.Of(skill.Demonstrate),
        LookFor = SkillText.Of(skill.LookFor),
        Mistakes = SkillText.Of(skill.Mistakes),
        Safety = SkillText.Of(skill.Safety),
        Ask = SkillText.Of(skill.Ask),
        Automatic = SkillText.Of(skill.Automatic),
        Manual = SkillText.Of(skill.Manual),
        Rules = SkillText.Of(skill.Rules),
        Practise = SkillText.Of(skill.Practise),
        Needs = [.. skill.Needs],
    };

    public Outcome<PlacedSkill> Read(string key)
    {
        var errors = new FieldErrors();
        var skill = SkillCheck.Clean(
            new Skill
            {
                Key = key,
                Name = Name ?? "",
                Aim = Aim ?? "",
                Plain = SkillText.ReadLines(Plain),
                Explain = SkillText.ReadPoints(errors, nameof(Explain), Explain),
                Demonstrate = SkillText.ReadPoints(errors, nameof(Demonstrate), Demonstrate),
                LookFor = SkillText.ReadPoints(errors, nameof(LookFor), LookFor),
                Mistakes = SkillText.ReadPoints(errors, nameof(Mistakes), Mistakes),
                Safety = SkillText.ReadPoints(errors, nameof(Safety), Safety),
                Ask = SkillText.ReadQuestions(errors, nameof(Ask), Ask),
                Automatic = SkillText.ReadPoints(errors, nameof(Automatic), Automatic),
                Manual = SkillText.ReadPoints(errors, nameof(Manual), Manual),
                Rules = SkillText.ReadRules(errors, nameof(Rules), Rules),
                Practise = SkillText.ReadLines(Practise),
                Needs = Needs,
            },
            errors);
        var newGroup = errors.ReadLine(nameof(NewGroup), NewGroup, Skill.LongestName);
        var group = newGroup.Length > 0 ? newGroup : errors.ReadLine(nameof(Group), Group, Skill.LongestName, "Choose a group, or name a new one.");
        return errors.ToRefusal() is { } refusal ? refusal : new PlacedSkill(skill, group);
    }
}
