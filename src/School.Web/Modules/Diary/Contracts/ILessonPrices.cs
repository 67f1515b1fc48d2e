using NodaTime;
using School.Core.Cars;
using School.Core.Diary;
using School.Web.Platform.Access;

namespace School.Web.Modules.Diary.Contracts;

/// <summary>A lesson that somebody is about to book.</summary>
/// <param name="PupilId">For whom.</param>
/// <param name="InstructorId">With whom.</param>
/// <param name="Gearbox">In what kind of car.</param>
/// <param name="Kind">Its kind.</param>
/// <param name="StartsAt">When it would begin.</param>
/// <param name="Minutes">Minutes of teaching.</param>
internal sealed record LessonToTell(Guid PupilId, Guid InstructorId, Gearbox Gearbox, LessonKind Kind, Instant StartsAt, int Minutes);

/// <summary>What a lesson costs that is booked now.</summary>
/// <param name="Pence">The whole price with VAT; null where the price list has none.</param>
/// <param name="OwedPence">What of it is to be paid; null where that is not for the viewer to see.</param>
/// <param name="PrepaidMinutes">What is taken from prepaid hours; null where that is not for the viewer to see.</param>
/// <param name="Currency">ISO 4217.</param>
/// <param name="Sentence">For the viewer.</param>
internal sealed record ToldPrice(long? Pence, long? OwedPence, int? PrepaidMinutes, string Currency, string Sentence);

/// <summary>Tells what a lesson costs before it is booked. Filled by modules above the diary, which never asks who they are.</summary>
internal interface ILessonPrices
{
    /// <summary>Null where no money is kept.</summary>
    Task<ToldPrice?> TellAsync(LessonToTell lesson, Viewer viewer, CancellationToken cancel);
}
