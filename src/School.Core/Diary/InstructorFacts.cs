using NodaTime;
using School.Core.Cars;
using School.Core.Travel;

namespace School.Core.Diary;

/// <summary>On what ground somebody may give paid lessons.</summary>
public enum RegistrationKind
{
    /// <summary>On the register of approved driving instructors.</summary>
    Approved,

    /// <summary>Holds a trainee licence.</summary>
    Trainee,
}

/// <summary>What the diary needs to know about an instructor.</summary>
/// <param name="Id">The instructor.</param>
/// <param name="Teaches">The gearboxes taught.</param>
/// <param name="Base">Where the day begins and ends.</param>
/// <param name="Kind">Approved or trainee.</param>
/// <param name="RegisteredFrom">First day of registration or licence; null when it began before anything here.</param>
/// <param name="RegisteredTo">Last day of registration or licence, that day included.</param>
/// <param name="DailyTeachingMinutes">The instructor's own limit of lesson minutes on a date; null for only the school's.</param>
public sealed record InstructorFacts(
    Guid Id,
    IReadOnlyList<Gearbox> Teaches,
    Coordinates Base,
    RegistrationKind Kind,
    LocalDate? RegisteredFrom,
    LocalDate RegisteredTo,
    int? DailyTeachingMinutes)
{
    /// <summary>Whether paid lessons are allowed on a date.</summary>
    public bool IsRegisteredOn(LocalDate date) => !(date < RegisteredFrom) && date <= RegisteredTo;

    /// <summary>Most lesson minutes on one date: the lowest of the school's, the trainee's and the instructor's own limit.</summary>
    public int DailyLimit(DiaryRules rules)
    {
        var limit = Math.Min(rules.DailyTeachingMinutes, DailyTeachingMinutes ?? int.MaxValue);
        return Kind == RegistrationKind.Trainee ? Math.Min(limit, rules.TraineeDailyTeachingMinutes ?? int.MaxValue) : limit;
    }
}
