namespace School.Core.Syllabus;

/// <summary>What changed from one edition of the syllabus to another, in sentences.</summary>
public static class EditionDifference
{
    private static readonly (string Words, Func<Skill, Skill, bool> Same)[] Parts =
    [
        ("aim", (a, b) => a.Aim == b.Aim),
        ("what the pupil reads", (a, b) => a.Plain.SequenceEqual(b.Plain)),
        ("what to explain", (a, b) => a.Explain.SequenceEqual(b.Explain)),
        ("what to demonstrate", (a, b) => a.Demonstrate.SequenceEqual(b.Demonstrate)),
        ("what to look for", (a, b) => a.LookFor.SequenceEqual(b.LookFor)),
        ("common mistakes", (a, b) => a.Mistakes.SequenceEqual(b.Mistakes)),
        ("safety", (a, b) => a.Safety.SequenceEqual(b.Safety)),
        ("questions", (a, b) => a.Ask.SequenceEqual(b.Ask)),
        ("automatic", (a, b) => a.Automatic.SequenceEqual(b.Automatic)),
        ("manual", (a, b) => a.Manual.SequenceEqual(b.Manual)),
        ("rules", (a, b) => a.Rules.SequenceEqual(b.Rules)),
        ("what to practise", (a, b) => a.Practise.SequenceEqual(b.Practise)),
        ("what it builds on", (a, b) => a.Needs.SequenceEqual(b.Needs)),
    ];

    /// <summary>One sentence for each change; empty when nothing is different.</summary>
    /// <param name="before">The earlier edition.</param>
    /// <param name="after">The later one; numbers are not compared.</param>
    /// <param name="everHad">Keys of skills that some earlier edition had: such a skill is brought back and not added.</param>
    public static IReadOnlyList<string> Sentences(SyllabusEdition before, SyllabusEdition after, IReadOnlySet<string>? everHad = null)
    {
        ArgumentNullException.ThrowIfNull(before);
        ArgumentNullException.ThrowIfNull(after);
        var (old, now) = (Places(before), Places(after));
        var renamed = RenamedGroups(before, after);
        var sentences = new List<string>();
        sentences.AddRange(renamed.Select(pair => $"Renamed the group “{pair.Key}” to “{pair.Value}”."));
        sentences.AddRange(old.Values.Where(place => !now.ContainsKey(place.Skill.Key)).Select(place => $"Retired “{place.Skill.Name}”."));
        sentences.AddRange(now.Values.Where(place => !old.ContainsKey(place.Skill.Key)).Select(place => everHad?.Contains(place.Skill.Key) == true
            ? $"Brought “{place.Skill.Name}” back, in {place.Group}."
            : $"Added “{place.Skill.Name}” to {place.Group}."));
        var both = now.Values.Where(place => old.ContainsKey(place.Skill.Key)).ToList();
        var toOtherGroup = both.Where(place => renamed.GetValueOrDefault(old[place.Skill.Key].Group, old[place.Skill.Key].Group) != place.Group).ToList();
        sentences.AddRange(toOtherGroup.Select(place => $"Moved “{place.Skill.Name}” from {old[place.Skill.Key].Group} to {place.Group}."));
        var stayed = both.Except(toOtherGroup).Select(place => place.Skill.Key).ToHashSet(StringComparer.Ordinal);
        if (Reordered([.. old.Keys.Where(stayed.Contains)], [.. now.Keys.Where(stayed.Contains)], now) is { } order)
        {
            sentences.Add(order);
        }

        foreach (var place in both)
        {
            var earlier = old[place.Skill.Key].Skill;
            if (earlier.Name != place.Skill.Name)
            {
                sentences.Add($"Renamed “{earlier.Name}” to “{place.Skill.Name}”.");
            }

            if (string.Join(", ", Parts.Where(part => !part.Same(earlier, place.Skill)).Select(part => part.Words)) is { Length: > 0 } parts)
            {
                sentences.Add($"Changed “{place.Skill.Name}”: {parts}.");
            }
        }

        return sentences;
    }

    /// <summary>Which texts of two skills differ, in words such as "safety"; names are not compared.</summary>
    public static IReadOnlyList<string> TextsThatDiffer(Skill before, Skill after)
    {
        ArgumentNullException.ThrowIfNull(before);
        ArgumentNullException.ThrowIfNull(after);
        return [.. Parts.Where(part => !part.Same(before, after)).Select(part => part.Words)];
    }

    private static OrderedDictionary<string, (Skill Skill, string Group)> Places(SyllabusEdition edition)
    {
        var places = new OrderedDictionary<string, (Skill, string)>(StringComparer.Ordinal);
        foreach (var (group, skill) in edition.Groups.SelectMany(group => group.Skills, (group, skill) => (group, skill)))
        {
            places[skill.Key] = (skill, group.Name);
        }

        return places;
    }

    /// <summary>A name that went and a name that came are one group where they share a skill.</summary>
    private static Dictionary<string, string> RenamedGroups(SyllabusEdition before, SyllabusEdition after)
    {
        var gone = before.Groups.Where(group => after.Groups.All(other => other.Name != group.Name));
        var come = after.Groups.Where(group => before.Groups.All(other => other.Name != group.Name)).ToList();
        var renamed = new Dictionary<string, string>(StringComparer.Ordinal);
        foreach (var group in gone)
        {
            if (come.Find(other => other.Skills.Any(skill => group.Skills.Any(had => had.Key == skill.Key))) is { } found)
            {
                renamed[group.Name] = found.Name;
                come.Remove(found);
            }
        }

        return renamed;
    }

    private static string? Reordered(List<string> before, List<string> after, OrderedDictionary<string, (Skill Skill, string Group)> now)
    {
        if (before.SequenceEqual(after))
        {
            return null;
        }

        if (before.Find(key => before.Where(other => other != key).SequenceEqual(after.Where(other => other != key))) is not { } moved)
        {
            return "Changed the order of the skills.";
        }

        var at = after.IndexOf(moved);
        return at == 0 ? $"Put “{now[moved].Skill.Name}” first." : $"Moved “{now[moved].Skill.Name}” after “{now[after[at - 1]].Skill.Name}”.";
    }
}
