using School.Core.Diary;

namespace School.Web.Modules.Diary.Settings;

/// <summary>What is different about a kind of lesson, each value before and after.</summary>
internal static class KindDifference
{
    /// <summary>"Mock test: name Mock test → Mock, lengths as usual → 60 90"; empty when nothing is different.</summary>
    public static string Of(KindRule before, KindRule after)
    {
        List<string> said =
        [
            .. Value("name", before.Name, after.Name),
            .. Value("lengths", Lengths(before), Lengths(after)),
            .. Value("offered", before.Offered, after.Offered),
            .. Value("pupils see it", before.PupilsSee, after.PupilsSee),
            .. Value("pupils book it", before.PupilsBook, after.PupilsBook),
        ];
        return said.Count == 0 ? "" : $"{before.Name}: {string.Join(", ", said)}";
    }

    private static string Lengths(KindRule rule) => rule.Minutes.Count == 0 ? "as usual" : string.Join(" ", rule.Minutes);

    private static IEnumerable<string> Value(string name, bool before, bool after) => Value(name, before ? "yes" : "no", after ? "yes" : "no");

    private static IEnumerable<string> Value(string name, string before, string after) => before == after ? [] : [$"{name} {before} → {after}"];
}
