using NodaTime;

namespace School.Core.Syllabus;

/// <summary>What the syllabus suggests for the next lesson.</summary>
/// <param name="Next">The first skill not yet started whose needs stand; null where all are started or none is open.</param>
/// <param name="Stale">Started skills that no lesson has touched for a while, longest first.</param>
/// <param name="Working">Started skills that do not stand yet, in the order of the syllabus.</param>
public sealed record NextSkills(Skill? Next, IReadOnlyList<SkillStanding> Stale, IReadOnlyList<SkillStanding> Working)
{
    /// <summary>From this level on a skill carries those that build on it: common practice, no source.</summary>
    public const SkillLevel Stands = SkillLevel.Prompted;

    /// <summary>Days without practice after which a skill is looked at again, unless the school sets its own: common practice, no source.</summary>
    public const int UsualStaleDays = 42;

    /// <summary>Suggests; the instructor decides. A need that the edition no longer has stands in nobody's way.</summary>
    public static NextSkills Of(SyllabusEdition edition, IReadOnlyDictionary<string, SkillStanding> standings, LocalDate on, int staleDays)
    {
        ArgumentNullException.ThrowIfNull(edition);
        ArgumentNullException.ThrowIfNull(standings);
        var known = edition.Skills.Select(skill => skill.Key).ToHashSet(StringComparer.Ordinal);
        var started = edition.Skills.Where(skill => standings.ContainsKey(skill.Key)).Select(skill => standings[skill.Key]).ToList();
        var next = edition.Skills.FirstOrDefault(skill => !standings.ContainsKey(skill.Key)
            && skill.Needs.All(need => !known.Contains(need) || (standings.TryGetValue(need, out var standing) && standing.Level >= Stands)));
        return new(
            next,
            [.. started.Where(standing => Period.DaysBetween(standing.LastOn, on) > staleDays).OrderBy(standing => standing.LastOn)],
            [.. started.Where(standing => standing.Level < Stands)]);
    }
}
