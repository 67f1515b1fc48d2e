namespace School.Core.Syllabus;

/// <summary>The syllabus as it stood from one change to the next. Records name the edition they were made under, so that they keep their meaning.</summary>
/// <param name="Number">1 for the first, rising.</param>
/// <param name="Groups">In the order they are taught.</param>
public sealed record SyllabusEdition(int Number, IReadOnlyList<SkillGroup> Groups)
{
    /// <summary>Most skills that a syllabus may hold.</summary>
    public const int MostSkills = 100;

    /// <summary>All skills in the order they are taught.</summary>
    public IEnumerable<Skill> Skills => Groups.SelectMany(group => group.Skills);

    /// <summary>The skill of a key, or null where this edition has none.</summary>
    public Skill? Find(string key) => Skills.FirstOrDefault(skill => skill.Key == key);

    /// <summary>What is wrong with it, each in a sentence; empty when nothing is.</summary>
    public IEnumerable<string> Problems()
    {
        var skills = Skills.ToList();
        if (skills.Count is 0 or > MostSkills)
        {
            yield return $"A syllabus has between 1 and {MostSkills} skills.";
        }

        if (Groups.Any(group => group.Skills.Count == 0))
        {
            yield return "Every group has at least one skill.";
        }

        foreach (var twice in Groups.GroupBy(group => group.Name, StringComparer.OrdinalIgnoreCase).Where(same => same.Count() > 1))
        {
            yield return $"Two groups are named “{twice.Key}”.";
        }

        foreach (var twice in skills.GroupBy(skill => skill.Key, StringComparer.Ordinal).Where(same => same.Count() > 1))
        {
            yield return $"Two skills have the key “{twice.Key}”.";
        }

        foreach (var twice in skills.GroupBy(skill => skill.Name, StringComparer.OrdinalIgnoreCase).Where(same => same.Count() > 1))
        {
            yield return $"Two skills are named “{twice.Key}”.";
        }

        foreach (var (skill, need) in skills.SelectMany(skill => skill.Needs, (skill, need) => (skill, need)))
        {
            if (skills.All(other => other.Key != need))
            {
                yield return $"“{skill.Name}” builds on “{need}”, which this syllabus does not have.";
            }
        }

        if (FirstInCircle(skills) is { } circle)
        {
            yield return $"“{circle.Name}” builds on itself, through the skills it builds on.";
        }
    }

    private static Skill? FirstInCircle(List<Skill> skills)
    {
        // What builds only on skills that are settled is settled; what is left over goes round in a circle.
        var open = skills.ToList();
        while (open.RemoveAll(skill => !skill.Needs.Any(need => open.Exists(other => other.Key == need))) > 0)
        {
        }

        return open.Find(skill => Reaches(skill, skill.Key, open));
    }

    private static bool Reaches(Skill from, string key, List<Skill> open)
    {
        var seen = new HashSet<string>(StringComparer.Ordinal);
        var next = new Stack<string>(from.Needs);
        while (next.TryPop(out var need))
        {
            if (need == key)
            {
                return true;
            }

            if (seen.Add(need) && open.Find(skill => skill.Key == need) is { } found)
            {
                foreach (var further in found.Needs)
                {
                    next.Push(further);
                }
            }
        }

        return false;
    }
}
