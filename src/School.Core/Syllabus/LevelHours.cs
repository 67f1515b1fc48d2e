namespace School.Core.Syllabus;

/// <summary>How many lesson hours pupils had when they first reached a level in a skill.</summary>
/// <param name="Skill">Key of the skill.</param>
/// <param name="Pupils">How many reached it; 1 or more.</param>
/// <param name="AverageMinutes">Their mean minutes taught from the first lesson to the end of the one in which they did.</param>
public sealed record LevelHours(string Skill, int Pupils, double AverageMinutes)
{
    /// <summary>By skill, over pupils who reached the level; a skill that nobody reached it in is left out.</summary>
    /// <param name="pupils">The standings of each pupil.</param>
    /// <param name="level">The level, or any above it.</param>
    /// <remarks>
    /// Pupils still on the way are not in it, so that it is on the short side while a school is young. Nor are those who had the level
    /// when the skill was first marked: they brought it along, or nobody saw how it grew.
    /// </remarks>
    public static IReadOnlyDictionary<string, LevelHours> Of(IEnumerable<IReadOnlyDictionary<string, SkillStanding>> pupils, SkillLevel level)
    {
        ArgumentNullException.ThrowIfNull(pupils);
        return pupils.SelectMany(pupil => pupil.Values)
            .Where(standing => standing.Moves[0].Level < level && standing.Moves.Any(move => move.Level >= level))
            .Select(standing => (standing.Skill, standing.Moves.First(move => move.Level >= level).MinutesTaught))
            .GroupBy(reached => reached.Skill, StringComparer.Ordinal)
            .ToDictionary(group => group.Key, group => new LevelHours(group.Key, group.Count(), group.Average(reached => reached.MinutesTaught)), StringComparer.Ordinal);
    }
}
