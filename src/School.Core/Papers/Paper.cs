using NodaTime;

namespace School.Core.Papers;

/// <summary>Whose a paper is.</summary>
public enum PaperHolder
{
    /// <summary>A pupil's.</summary>
    Pupil,

    /// <summary>An instructor's.</summary>
    Instructor,

    /// <summary>A car's.</summary>
    Car,
}

/// <summary>What sort of paper it is.</summary>
public enum PaperKind
{
    /// <summary>A pupil's driving licence.</summary>
    Licence,

    /// <summary>A British provisional licence that a pupil holds beside a foreign one.</summary>
    ProvisionalLicence,

    /// <summary>The school's look at a pupil's driving record: good until it is to be looked at again.</summary>
    DrivingRecord,

    /// <summary>A theory test certificate.</summary>
    Theory,

    /// <summary>A pupil's eyesight check.</summary>
    Eyesight,

    /// <summary>An instructor's registration.</summary>
    Registration,

    /// <summary>A trainee's licence to teach.</summary>
    TraineeLicence,

    /// <summary>A car's MOT certificate, or the time before its first.</summary>
    Mot,

    /// <summary>Vehicle tax.</summary>
    Tax,

    /// <summary>A car's insurance.</summary>
    Insurance,

    /// <summary>The time to a car's service.</summary>
    Service,
}

/// <summary>What does not take place on a day on which a paper is not good.</summary>
public enum PaperStops
{
    /// <summary>Nothing; it is to be seen to.</summary>
    Nothing,

    /// <summary>A lesson of its pupil.</summary>
    Lesson,

    /// <summary>A practical test of its pupil.</summary>
    Test,

    /// <summary>Paid lessons of its instructor.</summary>
    Teaching,

    /// <summary>Any drive in its car.</summary>
    Car,
}

/// <summary>How a paper stands on a day.</summary>
public enum PaperState
{
    /// <summary>It begins later.</summary>
    NotYetValid,

    /// <summary>Good, and for more than <see cref="Paper.SoonDays"/> days.</summary>
    Valid,

    /// <summary>Good, and its last day is at most <see cref="Paper.SoonDays"/> days away; or past, while another was applied for in time.</summary>
    EndsSoon,

    /// <summary>Its last day is past, or it is good for nothing whatever stands on it.</summary>
    Ended,

    /// <summary>It is not a paper that ends but a look that was taken, and is to be taken again.</summary>
    LookAgain,
}

/// <summary>Where the rule about a paper is published.</summary>
/// <param name="Text">The publication, or that it is common practice or from memory.</param>
/// <param name="Date">The date of that text, or the day it was read or written down.</param>
public sealed record PaperSource(string Text, LocalDate Date);

/// <summary>Anything that has a first and a last day and belongs to somebody or to a car.</summary>
/// <param name="Holder">Whose sort.</param>
/// <param name="HolderId">Whose.</param>
/// <param name="Kind">What sort.</param>
/// <param name="From">The first day on which it is good; null where that is not known or does not matter.</param>
/// <param name="Until">The last day on which it is good, that day included; null where it has none.</param>
/// <param name="Stops">What does not take place without it.</param>
/// <param name="Source">Where the rule stands.</param>
public sealed record Paper(PaperHolder Holder, Guid HolderId, PaperKind Kind, LocalDate? From, LocalDate? Until, PaperStops Stops, PaperSource Source)
{
    /// <summary>So many days before its last day a paper ends soon.</summary>
    public const int SoonDays = 30;

    /// <summary>When it was seen as it stands here; null where nobody noted it.</summary>
    public LocalDate? SeenOn { get; init; }

    /// <summary>Who saw it.</summary>
    public Guid? SeenBy { get; init; }

    /// <summary>It goes on after its last day, since another was applied for in time and that is not decided.</summary>
    public bool GoesOn { get; init; }

    /// <summary>It is good for nothing, whatever days stand on it: a driving licence of somebody disqualified.</summary>
    public bool IsVoid { get; init; }

    /// <summary>The day from which a new one may be had in the place of one that is void; null where that is not known.</summary>
    public LocalDate? VoidUntil { get; init; }

    /// <summary>How it stands on a day.</summary>
    public PaperState StateOn(LocalDate day) =>
        IsVoid ? PaperState.Ended
        : day < From ? PaperState.NotYetValid
        : Until is not { } last ? PaperState.Valid
        : day <= last ? last <= day.PlusDays(SoonDays) ? PaperState.EndsSoon : PaperState.Valid
        : GoesOn ? PaperState.EndsSoon
        : Kind == PaperKind.DrivingRecord ? PaperState.LookAgain
        : PaperState.Ended;

    /// <summary>Whether it is good on a day; a look that is to be taken again was still taken.</summary>
    public bool IsGoodOn(LocalDate day) => StateOn(day) is PaperState.Valid or PaperState.EndsSoon or PaperState.LookAgain;
}
