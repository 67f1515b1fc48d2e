using School.Core.Diary.Charges;

namespace School.Web.Modules.Diary.Contracts;

/// <summary>A decision about the charge of a lesson, with what whoever keeps the money needs to know of it.</summary>
/// <param name="LessonId">The lesson.</param>
/// <param name="PupilId">Whose it is.</param>
/// <param name="InstructorId">Who was to give it.</param>
/// <param name="Minutes">Its length.</param>
/// <param name="Charge">What was decided.</param>
internal sealed record DecidedCharge(Guid LessonId, Guid PupilId, Guid InstructorId, int Minutes, LessonCharge Charge);

/// <summary>
/// Told of every decision about a charge in the transaction in which it is made: what is written here stands or falls with the
/// change itself. Filled by modules above the diary, which never asks who they are.
/// </summary>
internal interface ILessonCharges
{
    /// <summary>Decided, also where nothing is charged. A lesson that is not moved has one decision: a later one takes the place of the earlier.</summary>
    Task DecidedAsync(DecidedCharge decided, CancellationToken cancel);

    /// <summary>A lesson written down as missed was taught after all: that decision no longer holds.</summary>
    Task TakenBackAsync(Guid lessonId, CancellationToken cancel);
}
