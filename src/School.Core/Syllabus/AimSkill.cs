using System.Text;

namespace School.Core.Syllabus;

/// <summary>Finds the skill that an aim agreed in a person's own words is about.</summary>
/// <remarks>
/// By the words that it shares with what the syllabus says of each skill: a word that few skills use weighs more, one that a skill uses several times up to three times as
/// much, and so does one in its name. Common practice of looking texts up by their rare words, no source. It suggests; the instructor reads the aim itself beside it.
/// </remarks>
public static class AimSkill
{
    private const int ShortestWord = 4;
    private const int InName = 3;
    private const int MostTimes = 3;

    /// <summary>Less than one word that no more than three skills use says nothing.</summary>
    private const double Least = 1.0 / 3;

    private static readonly string[] Endings = ["ing", "ed", "es", "s"];

    private static readonly HashSet<string> Common = ["with", "from", "that", "this", "more", "next", "time", "lesson", "again", "work", "start", "practise", "practice", "better", "without"];

    /// <summary>The skill; null where no word points to one.</summary>
    public static Skill? Of(SyllabusEdition edition, string aim)
    {
        ArgumentNullException.ThrowIfNull(edition);
        ArgumentNullException.ThrowIfNull(aim);
        var wanted = Words(aim).Distinct(StringComparer.Ordinal).ToList();
        if (wanted.Count == 0)
        {
            return null;
        }

        var skills = edition.Skills.Select(skill => (Skill: skill, Name: Words(skill.Name), All: Words(string.Join(' ', Texts(skill))).CountBy(word => word).ToDictionary(StringComparer.Ordinal))).ToList();
        var users = wanted.ToDictionary(word => word, word => skills.Count(one => one.All.ContainsKey(word)), StringComparer.Ordinal);
        var best = skills.Select(one => (one.Skill, Score: wanted.Where(one.All.ContainsKey)
            .Sum(word => (double)Math.Min(one.All[word], MostTimes) * (one.Name.Contains(word) ? InName : 1) / users[word]))).MaxBy(one => one.Score);
        return best.Score >= Least ? best.Skill : null;
    }

    private static IEnumerable<string> Texts(Skill skill) => [skill.Name, skill.Aim, .. skill.Plain, .. skill.Explain.Concat(skill.Safety).Select(point => point.Text)];

    private static List<string> Words(string text)
    {
        var (words, word) = (new List<string>(), new StringBuilder());
        foreach (var letter in text.Append(' '))
        {
            if (char.IsLetter(letter))
            {
                word.Append(char.ToLowerInvariant(letter));
                continue;
            }

            if (word.Length >= ShortestWord && !Common.Contains(word.ToString()))
            {
                words.Add(Stem(word.ToString()));
            }

            word.Clear();
        }

        return words;
    }

    private static string Stem(string word)
    {
        var ending = Endings.FirstOrDefault(ending => word.EndsWith(ending, StringComparison.Ordinal) && word.Length - ending.Length >= ShortestWord - 1) ?? "";
        return word[..^ending.Length].TrimEnd('e');
    }
}
