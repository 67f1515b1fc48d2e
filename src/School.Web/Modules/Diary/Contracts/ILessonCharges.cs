using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Charges;
using School.Web.Platform.Access;

namespace School.Web.Modules.Diary.Contracts;

/// <summary>What whoever keeps the money needs to know of a lesson.</summary>
/// <param name="LessonId">The lesson.</param>
/// <param name="PupilId">Whose it is.</param>
/// <param name="InstructorId">Who gives it, or was to.</param>
/// <param name="CarId">In which car.</param>
/// <param name="Kind">Its kind.</param>
/// <param name="StartsAt">When it begins, or was to.</param>
/// <param name="Minutes">Minutes of teaching.</param>
/// <param name="BookedAt">When it was booked.</param>
internal sealed record LessonToCharge(Guid LessonId, Guid PupilId, Guid InstructorId, Guid CarId, LessonKind Kind, Instant StartsAt, int Minutes, Instant BookedAt);

/// <summary>A decision about the charge of a lesson.</summary>
/// <param name="Lesson">The lesson as it was before.</param>
/// <param name="Charge">What was decided.</param>
/// <param name="Warned">The pupil's reminder went before the last free moment, or the lesson came to stand as it did too late for one.</param>
internal sealed record DecidedCharge(LessonToCharge Lesson, LessonCharge Charge, bool Warned)
{
    public Guid LessonId => Lesson.LessonId;

    public Guid PupilId => Lesson.PupilId;
}

/// <summary>What a decision comes to in money, before anybody acts on it.</summary>
/// <param name="Pence">What would be owed, with VAT.</param>
/// <param name="PrepaidMinutes">What would be taken from prepaid hours.</param>
/// <param name="Currency">ISO 4217.</param>
/// <param name="Sentence">What is asked, or why nothing is.</param>
internal sealed record ChargeAmount(long Pence, int PrepaidMinutes, string Currency, string Sentence)
{
    /// <summary>Whether anything is asked at all.</summary>
    public bool Asks => Pence > 0 || PrepaidMinutes > 0;
}

/// <summary>
/// Told of every decision about a charge, and of every lesson taught, in the transaction in which it is made: what is written here stands or falls with the
/// change itself. Filled by modules above the diary, which never asks who they are.
/// </summary>
internal interface ILessonCharges
{
    /// <summary>
    /// Decided, also where nothing is charged. A lesson that is not moved has one decision: a later one takes the place of the earlier. Answers whether anything is
    /// asked for it; null where no money is kept.
    /// </summary>
    Task<bool?> DecidedAsync(DecidedCharge decided, Viewer viewer, CancellationToken cancel);

    /// <summary>A lesson written down as missed was taught after all: that decision no longer holds.</summary>
    Task TakenBackAsync(Guid lessonId, Viewer viewer, CancellationToken cancel);

    /// <summary>A lesson is written down as taught, or that is put right; its minutes are those that were taught.</summary>
    Task TaughtAsync(LessonToCharge lesson, Viewer viewer, CancellationToken cancel);

    /// <summary>What a decision would come to; null where no money is kept.</summary>
    Task<ChargeAmount?> AmountAsync(DecidedCharge decided, Viewer viewer, CancellationToken cancel);
}
