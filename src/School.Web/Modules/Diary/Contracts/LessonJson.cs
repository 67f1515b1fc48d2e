using NodaTime;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Travel.Contracts;

namespace School.Web.Modules.Diary.Contracts;

/// <summary>A lesson as the API tells it.</summary>
internal sealed record LessonJson(
    Guid Id, Guid PupilId, Guid InstructorId, Guid CarId, Instant Start, Instant End, int Minutes, LessonState State, PlaceView PickUp, PlaceView DropOff,
    int Sequence, CancelReason? CancelledBecause, bool? Chargeable, string? ChargePolicy, int? MinutesTaught, string? Note, Guid? SeriesId)
{
    public static LessonJson Of(Lesson lesson) => new(
        lesson.Id, lesson.PupilId, lesson.InstructorId, lesson.CarId, lesson.StartsAt, lesson.EndsAt, lesson.Minutes, lesson.State,
        PlaceView.Of(lesson.PickUp), PlaceView.Of(lesson.DropOff), lesson.Sequence, lesson.CancelledBecause, lesson.Chargeable, lesson.ChargePolicy,
        lesson.MinutesTaught, lesson.Note.Length == 0 ? null : lesson.Note, lesson.SeriesId);
}
