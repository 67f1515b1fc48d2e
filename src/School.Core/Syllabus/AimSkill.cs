using System.Text;

namespace School.Core.Syllabus;

/// <summary>Finds the skill that an aim agreed in a person's own words is about.</summary>
/// <remarks>
/// Only where the aim says the skill's whole name, or two words by which the trade speaks of it (common practice, no source). One everyday word, such as road, names nothing,
/// and an aim that names two skills leads to neither: a wrong subject puts wrong cautions before a lesson, and none puts no more than the aim itself there.
/// </remarks>
public static class AimSkill
{
    private const int ShortestStem = 3;

    /// <summary>What stands behind one of these in a name says more of the same.</summary>
    private static readonly char[] NameEnds = ['–', '—', '(', ',', ':'];

    /// <summary>Never "ed": a parked car is not about parking.</summary>
    private static readonly string[] Endings = ["ing", "es", "s"];

    private static readonly Dictionary<string, string[]> Typical = new(StringComparer.Ordinal)
    {
        ["controls-and-instruments"] = ["clutch control", "change gear"],
        ["moving-away-and-stopping"] = ["hill start", "moving off", "moving away", "pull up"],
        ["safe-positioning"] = ["road position", "lane position"],
        ["other-traffic"] = ["meet traffic"],
        ["turning-the-car-around"] = ["turn around"],
        ["parking"] = ["bay park", "parallel park"],
        ["independent-driving"] = ["sat nav", "independent driving"],
    };

    /// <summary>The skill; null where the words name none, or more than one.</summary>
    public static Skill? Of(SyllabusEdition edition, string aim)
    {
        ArgumentNullException.ThrowIfNull(edition);
        ArgumentNullException.ThrowIfNull(aim);
        var said = Words(aim);
        var named = edition.Skills.Where(skill => Says(said, Words(skill.Name.Split(NameEnds)[0]))
            || Typical.GetValueOrDefault(skill.Key, []).Any(words => Words(words).TrueForAll(said.Contains))).Take(2).ToList();
        return named is [var one] ? one : null;
    }

    /// <summary>Whether the words of the name stand in the aim, one after the other.</summary>
    private static bool Says(List<string> said, List<string> name) =>
        name.Count > 0 && Enumerable.Range(0, Math.Max(said.Count - name.Count + 1, 0)).Any(at => said.GetRange(at, name.Count).SequenceEqual(name, StringComparer.Ordinal));

    private static List<string> Words(string text)
    {
        var (words, word) = (new List<string>(), new StringBuilder());
        foreach (var letter in text.Append(' '))
        {
            if (char.IsLetter(letter))
            {
                word.Append(char.ToLowerInvariant(letter));
            }
            else if (word.Length > 0)
            {
                words.Add(Stem(word.ToString()));
                word.Clear();
            }
        }

        return words;
    }

    private static string Stem(string word)
    {
        var ending = Endings.FirstOrDefault(ending => word.EndsWith(ending, StringComparison.Ordinal) && word.Length - ending.Length >= ShortestStem) ?? "";
        return word[..^ending.Length].TrimEnd('e');
    }
}
