using NodaTime;

namespace School.Core.Pupils;

/// <summary>From which day a person may drive a car on the road as a learner in Great Britain.</summary>
/// <remarks>Source: gov.uk/driving-lessons-learning-to-drive, read 25 November 2026.</remarks>
public static class LearnerAge
{
    /// <summary>Minimum age in years for lessons in a car.</summary>
    public const int Minimum = 17;

    /// <summary>Minimum age in years with the enhanced rate of the mobility component of PIP, held or applied for.</summary>
    public const int MinimumWithMobilityAward = 16;

    /// <summary>The first day on which a person born on this date may have a lesson on the road.</summary>
    public static LocalDate EarliestLesson(LocalDate birthDate, bool hasMobilityAward = false) =>
        Attains(birthDate, hasMobilityAward ? MinimumWithMobilityAward : Minimum);

    /// <summary>
    /// The day on which a person reaches an age. Someone born on 29 February reaches it on 1 March when the year has no
    /// 29 February.
    /// </summary>
    /// <param name="birthDate">Date of birth.</param>
    /// <param name="years">Age in whole years, zero or more.</param>
    /// <remarks>
    /// Source, from memory: Age of Legal Capacity (Scotland) Act 1991 section 6(2). For England and Wales the Family Law
    /// Reform Act 1969 section 9 speaks only of the anniversary; 1 March is common practice there, and the safe side.
    /// </remarks>
    public static LocalDate Attains(LocalDate birthDate, int years)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(years);
        var anniversary = birthDate.PlusYears(years); // 29 February becomes 28 February
        return anniversary.Day == birthDate.Day ? anniversary : anniversary.PlusDays(1);
    }
}
