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

/// <summary>What a trainee chose when the licence was given; it cannot be changed afterwards.</summary>
/// <remarks>Source: gov.uk, "Trainee driving instructor licence: the rules"; SI 2005/1902 regulation 15.</remarks>
public enum TraineeOption
{
    /// <summary>The sponsor sits in for one fifth of the time of all paid lessons (option 1).</summary>
    Supervision,

    /// <summary>At least 20 hours of further training during the licence (option 2).</summary>
    Training,
}

/// <summary>What the diary needs to know about an instructor.</summary>
/// <param name="Id">The instructor.</param>
/// <param name="Teaches">The gearboxes taught.</param>
/// <param name="Base">Where the day begins and ends.</param>
/// <param name="Kind">Approved or trainee.</param>
/// <param name="RegisteredFrom">First day of registration or licence; null when it began before anything here.</param>
/// <param name="RegisteredTo">Last day of registration or licence, that day included.</param>
/// <param name="DailyTeachingMinutes">The instructor's own limit of lesson minutes on a date; null for only the school's.</param>
/// <param name="AppliedAgainOn">A trainee: when another licence was applied for, on the last day of this one at the latest, and that is not decided yet.</param>
public sealed record InstructorFacts(
    Guid Id,
    IReadOnlyList<Gearbox> Teaches,
    Coordinates Base,
    RegistrationKind Kind,
    LocalDate? RegisteredFrom,
    LocalDate RegisteredTo,
    int? DailyTeachingMinutes,
    LocalDate? AppliedAgainOn = null)
{
    /// <summary>The areas that the instructor serves, by their ids; empty for every place.</summary>
    public IReadOnlyList<Guid> Serves { get; init; } = [];

    /// <summary>Whether the instructor serves a place: one that lies in no area is served by everybody.</summary>
    /// <param name="areaId">The area that the place lies in; null for none.</param>
    public bool ServesPlaceIn(Guid? areaId)
    {
        if (areaId is not { } area || Serves.Count == 0)
        {
            return true;
        }

        // A loop without an enumerator: a search asks this and allocates nothing.
        for (var i = 0; i < Serves.Count; i++)
        {
            if (Serves[i] == area)
            {
                return true;
            }
        }

        return false;
    }

    /// <summary>The last day of a registration that is still to be asked: it allows no lesson.</summary>
    public static LocalDate NotAsked => LocalDate.MinIsoValue;

    /// <summary>Whether the licence goes on after its last day until the application made before is decided.</summary>
    /// <remarks>Source: Road Traffic Act 1988 section 129(6).</remarks>
    public bool GoesOn => Kind == RegistrationKind.Trainee && AppliedAgainOn <= RegisteredTo;

    /// <summary>Whether paid lessons are allowed on a date.</summary>
    public bool IsRegisteredOn(LocalDate date) => !(date < RegisteredFrom) && (date <= RegisteredTo || GoesOn);

    /// <summary>Most lesson minutes on one date: the lowest of the school's, the trainee's and the instructor's own limit.</summary>
    public int DailyLimit(DiaryRules rules)
    {
        var limit = Math.Min(rules.DailyTeachingMinutes, DailyTeachingMinutes ?? int.MaxValue);
        return Kind == RegistrationKind.Trainee ? Math.Min(limit, rules.TraineeDailyTeachingMinutes ?? int.MaxValue) : limit;
    }
}
