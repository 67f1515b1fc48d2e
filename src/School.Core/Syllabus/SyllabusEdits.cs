namespace School.Core.Syllabus;

/// <summary>Changes to a syllabus. Each gives it as it becomes, under the same number, and leaves the edition as it is; a group that would be empty goes.</summary>
public static class SyllabusEdits
{
    /// <summary>Adds a skill at the end of a group, which is made at the end where there is none of that name.</summary>
    public static SyllabusEdition Add(this SyllabusEdition edition, Skill skill, string group)
    {
        ArgumentNullException.ThrowIfNull(edition);
        ArgumentNullException.ThrowIfNull(skill);
        return edition.Groups.Any(g => g.Name == group)
            ? edition with { Groups = [.. edition.Groups.Select(g => g.Name == group ? g with { Skills = [.. g.Skills, skill] } : g)] }
            : edition with { Groups = [.. edition.Groups, new SkillGroup(group, [skill])] };
    }

    /// <summary>Puts a skill in the place of the one with its key; in another group, at its end.</summary>
    public static SyllabusEdition Replace(this SyllabusEdition edition, Skill skill, string group)
    {
        ArgumentNullException.ThrowIfNull(edition);
        ArgumentNullException.ThrowIfNull(skill);
        return edition.GroupOf(skill.Key)?.Name == group
            ? edition with { Groups = [.. edition.Groups.Select(g => g with { Skills = [.. g.Skills.Select(s => s.Key == skill.Key ? skill : s)] })] }
            : edition.Remove(skill.Key).Add(skill, group);
    }

    /// <summary>Takes over the texts of a skill from elsewhere. One that is there keeps its name, its group and what it builds on; one that is not comes in at the end of a group, building on what is there.</summary>
    public static SyllabusEdition TakeTexts(this SyllabusEdition edition, Skill skill, string group)
    {
        ArgumentNullException.ThrowIfNull(edition);
        ArgumentNullException.ThrowIfNull(skill);
        return edition.Find(skill.Key) is { } here
            ? edition.Replace(skill.TextsFor(here), edition.GroupOf(skill.Key)!.Name)
            : edition.Add(skill with { Needs = [.. skill.Needs.Where(need => edition.Find(need) is not null)] }, group);
    }

    /// <summary>The texts of one skill under the name and the needs of another.</summary>
    public static Skill TextsFor(this Skill texts, Skill other)
    {
        ArgumentNullException.ThrowIfNull(texts);
        ArgumentNullException.ThrowIfNull(other);
        return texts with { Key = other.Key, Name = other.Name, Needs = other.Needs };
    }

    /// <summary>Takes a skill out.</summary>
    public static SyllabusEdition Remove(this SyllabusEdition edition, string key)
    {
        ArgumentNullException.ThrowIfNull(edition);
        return edition.Filled(edition.Groups.Select(g => g with { Skills = [.. g.Skills.Where(s => s.Key != key)] }));
    }

    /// <summary>Moves a skill one place earlier or later; over the edge of its group, into the group beside it. At the ends nothing moves.</summary>
    public static SyllabusEdition Move(this SyllabusEdition edition, string key, bool later)
    {
        ArgumentNullException.ThrowIfNull(edition);
        var groups = edition.Groups.Select(g => (g.Name, Skills: g.Skills.ToList())).ToList();
        var at = groups.FindIndex(g => g.Skills.Exists(s => s.Key == key));
        if (at < 0)
        {
            return edition;
        }

        var place = groups[at].Skills.FindIndex(s => s.Key == key);
        var skill = groups[at].Skills[place];
        var (to, beside) = (place + (later ? 1 : -1), at + (later ? 1 : -1));
        if (to >= 0 && to < groups[at].Skills.Count)
        {
            groups[at].Skills.RemoveAt(place);
            groups[at].Skills.Insert(to, skill);
        }
        else if (beside >= 0 && beside < groups.Count)
        {
            groups[at].Skills.RemoveAt(place);
            groups[beside].Skills.Insert(later ? 0 : groups[beside].Skills.Count, skill);
        }

        return edition.Filled(groups.Select(g => new SkillGroup(g.Name, g.Skills)));
    }

    /// <summary>Gives a group another name.</summary>
    public static SyllabusEdition RenameGroup(this SyllabusEdition edition, string group, string name)
    {
        ArgumentNullException.ThrowIfNull(edition);
        return edition with { Groups = [.. edition.Groups.Select(g => g.Name == group ? g with { Name = name } : g)] };
    }

    /// <summary>The group a skill is in, or null.</summary>
    public static SkillGroup? GroupOf(this SyllabusEdition edition, string key)
    {
        ArgumentNullException.ThrowIfNull(edition);
        return edition.Groups.FirstOrDefault(g => g.Skills.Any(s => s.Key == key));
    }

    private static SyllabusEdition Filled(this SyllabusEdition edition, IEnumerable<SkillGroup> groups) =>
        edition with { Groups = [.. groups.Where(g => g.Skills.Count > 0)] };
}
