using NodaTime;

namespace School.Core.Syllabus;

/// <summary>The level a skill was given in one lesson.</summary>
/// <param name="Skill">Key of the skill.</param>
/// <param name="Level">The level after that lesson.</param>
public sealed record SkillMark(string Skill, SkillLevel Level);

/// <summary>What one taught lesson left behind, as far as the syllabus goes.</summary>
/// <param name="On">The day of the lesson.</param>
/// <param name="Minutes">Minutes taught; 1 or more.</param>
/// <param name="Marks">At most one for each skill.</param>
public sealed record TaughtLesson(LocalDate On, int Minutes, IReadOnlyList<SkillMark> Marks);

/// <summary>A level as it was given, with the hours taught by then.</summary>
/// <param name="On">The day of the lesson.</param>
/// <param name="Level">The level.</param>
/// <param name="MinutesTaught">Minutes taught from the first lesson to the end of this one.</param>
public readonly record struct SkillMove(LocalDate On, SkillLevel Level, int MinutesTaught);

/// <summary>Where a pupil stands with one skill, and how they came there.</summary>
/// <param name="Skill">Key of the skill.</param>
/// <param name="Moves">Every mark, earliest first; at least one.</param>
public sealed record SkillStanding(string Skill, IReadOnlyList<SkillMove> Moves)
{
    /// <summary>The level last given.</summary>
    public SkillLevel Level => Moves[^1].Level;

    /// <summary>The day it was last practised in a lesson.</summary>
    public LocalDate LastOn => Moves[^1].On;

    /// <summary>The level before the last change of level; null where it never changed.</summary>
    public SkillLevel? Before => Moves.Reverse().Select(move => (SkillLevel?)move.Level).FirstOrDefault(level => level != Level);

    /// <summary>Whether the last change went down.</summary>
    public bool WentDown => Before > Level;

    /// <summary>The standing of each skill that was ever marked, from lessons in order of their day.</summary>
    /// <exception cref="ArgumentException">A lesson lies before the one in front of it.</exception>
    public static IReadOnlyDictionary<string, SkillStanding> Of(IEnumerable<TaughtLesson> lessons)
    {
        ArgumentNullException.ThrowIfNull(lessons);
        var moves = new Dictionary<string, List<SkillMove>>(StringComparer.Ordinal);
        var minutes = 0;
        var last = LocalDate.MinIsoValue;
        foreach (var lesson in lessons)
        {
            if (lesson.On < last)
            {
                throw new ArgumentException("Lessons must come in the order of their days.", nameof(lessons));
            }

            last = lesson.On;
            minutes += lesson.Minutes;
            foreach (var mark in lesson.Marks)
            {
                if (!moves.TryGetValue(mark.Skill, out var of))
                {
                    moves[mark.Skill] = of = [];
                }

                of.Add(new(lesson.On, mark.Level, minutes));
            }
        }

        return moves.ToDictionary(pair => pair.Key, pair => new SkillStanding(pair.Key, pair.Value), StringComparer.Ordinal);
    }
}
