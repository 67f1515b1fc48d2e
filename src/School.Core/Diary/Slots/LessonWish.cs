using NodaTime;
using School.Core.Pupils;
using School.Core.Travel;

namespace School.Core.Diary.Slots;

/// <summary>A lesson somebody would like to have.</summary>
/// <param name="Pupil">The pupil.</param>
/// <param name="Minutes">Minutes of teaching; the rests that it needs come on top (<see cref="LessonPlan"/>).</param>
/// <param name="PickUp">Where it begins.</param>
/// <param name="DropOff">Where it ends.</param>
/// <param name="From">First date to look at.</param>
/// <param name="To">Last date to look at, that day included.</param>
/// <param name="MovingLessonId">A booked lesson that this one replaces: it is ignored wherever it stands.</param>
/// <param name="NoticeApplies">Whether notice and horizon apply (they do for a pupil, not for staff). Nobody books the past.</param>
/// <param name="AnyStart">Whether starts off the grid and lengths that are not offered are allowed (for staff).
/// <see cref="SlotSearch.Find"/> still looks at grid starts only.</param>
/// <param name="Kind">What it is for.</param>
public sealed record LessonWish(
    PupilFacts Pupil,
    int Minutes,
    Coordinates PickUp,
    Coordinates DropOff,
    LocalDate From,
    LocalDate To,
    Guid? MovingLessonId,
    bool NoticeApplies,
    bool AnyStart = false,
    LessonKind Kind = LessonKind.Standard)
{
    /// <summary>The area that the pick-up lies in; null for none.</summary>
    public Guid? PickUpAreaId { get; init; }

    /// <summary>The car to keep where it will do, that of a lesson which stays where it is; for <see cref="SlotSearch.Check"/> alone.</summary>
    public Guid? OwnCarId { get; init; }

    /// <summary>The rests of a lesson that keeps those it has; for <see cref="SlotSearch.Check"/> alone.</summary>
    internal IReadOnlyList<LessonBreak>? KeptBreaks { get; init; }

    /// <summary>
    /// Whether licence and date of birth must be known: of a pupil who books for themselves, and for the kinds that hang on them. Staff book before, and so
    /// does a pupil move what staff booked: licence and age are looked at before driving.
    /// </summary>
    public bool AsksFirst => (NoticeApplies && MovingLessonId is null) || LearnerRules.AsksFirst(Kind);

    /// <summary>Whether the law asks for an approved instructor and dual controls on a date.</summary>
    internal bool IsBoundOn(LocalDate date) => Kind == LessonKind.Motorway && MotorwayRule.Binds(Pupil, date);
}
