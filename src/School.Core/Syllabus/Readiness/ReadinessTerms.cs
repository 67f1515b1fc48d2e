namespace School.Core.Syllabus.Readiness;

/// <summary>What counts on the way to ready.</summary>
/// <remarks>Ready, as far as a record can say it, means that every skill counted here stands at Independent or better. The instructor decides.</remarks>
public sealed record ReadinessTerms
{
    /// <summary>From this level on a skill needs nothing more for the test.</summary>
    public const SkillLevel Goal = SkillLevel.Independent;

    /// <summary>An hour of private practice counts as so many hours of lessons, unless the school says otherwise: common practice, no source.</summary>
    public const double UsualPracticeWeight = 0.5;

    /// <summary>Skills of Great Britain's syllabus that readiness does not wait for.</summary>
    /// <remarks>The car test does not go on motorways (from memory), and a learner need not wait for a winter, for rain or for passengers. They are taught all the same.</remarks>
    public static IReadOnlyList<string> NotAwaited { get; } = ["motorways", "driving-in-the-dark", "weather-conditions", "passengers-and-loads"];

    /// <summary>Checks and keeps the terms.</summary>
    /// <param name="skills">Keys of the skills that count: 1 to <see cref="SyllabusEdition.MostSkills"/>, each once.</param>
    /// <param name="practiceWeight">Lesson hours that an hour of private practice stands for: 0 to 1.</param>
    /// <exception cref="ArgumentException">There is no skill, too many, or one twice.</exception>
    /// <exception cref="ArgumentOutOfRangeException">The weight is not between 0 and 1.</exception>
    public ReadinessTerms(IReadOnlyCollection<string> skills, double practiceWeight = UsualPracticeWeight)
    {
        ArgumentNullException.ThrowIfNull(skills);
        Skills = skills.ToHashSet(StringComparer.Ordinal);
        if (skills.Count is 0 or > SyllabusEdition.MostSkills || Skills.Count != skills.Count)
        {
            throw new ArgumentException($"Between 1 and {SyllabusEdition.MostSkills} skills count, each once.", nameof(skills));
        }

        if (practiceWeight is not (>= 0 and <= 1))
        {
            throw new ArgumentOutOfRangeException(nameof(practiceWeight), practiceWeight, "The weight of private practice lies between 0 and 1.");
        }

        PracticeWeight = practiceWeight;
    }

    /// <summary>Keys of the skills that count.</summary>
    public IReadOnlySet<string> Skills { get; }

    /// <summary>Lesson hours that an hour of private practice stands for.</summary>
    public double PracticeWeight { get; }

    /// <summary>The terms of an edition: all its skills but <see cref="NotAwaited"/>, or all where nothing else is left.</summary>
    /// <exception cref="ArgumentException">The edition has no skill, or one twice.</exception>
    public static ReadinessTerms Of(SyllabusEdition edition, double practiceWeight = UsualPracticeWeight)
    {
        ArgumentNullException.ThrowIfNull(edition);
        List<string> all = [.. edition.Skills.Select(skill => skill.Key)];
        List<string> awaited = [.. all.Where(key => !NotAwaited.Contains(key))];
        return new(awaited.Count > 0 ? awaited : all, practiceWeight);
    }
}
