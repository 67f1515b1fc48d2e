using NodaTime;

namespace School.Core.Pupils;

/// <summary>How long a theory certificate counts.</summary>
/// <remarks>
/// Two years, and the practical test must be passed within them: from memory, seen agreeing second-hand. Whether the second anniversary
/// itself still counts was not found; the day before it is taken as the last, which is the safe side. The day on the certificate decides.
/// </remarks>
public static class TheoryCertificate
{
    /// <summary>Years for which it counts.</summary>
    public const int Years = 2;

    /// <summary>Where the rule stands.</summary>
    public const string Source = "gov.uk, “Theory test: cars”, two years, from memory; the day on the certificate decides";

    /// <summary>When that was written down.</summary>
    public static LocalDate SourceDate { get; } = new(2026, 11, 25);

    /// <summary>The last day on which a practical test can be passed with it.</summary>
    public static LocalDate LastDay(LocalDate passedOn) => passedOn.PlusYears(Years).PlusDays(-1);

    /// <summary>The first day on which somebody can take the theory test: the 17th birthday, the 16th with the mobility award.</summary>
    /// <remarks>From memory, seen agreeing second-hand.</remarks>
    public static LocalDate Earliest(LocalDate birthDate, bool hasMobilityAward) => LearnerAge.EarliestLesson(birthDate, hasMobilityAward);
}
