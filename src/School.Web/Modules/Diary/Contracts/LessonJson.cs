using NodaTime;
using School.Core.Diary;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Modules.Diary.Contracts;

/// <summary>A rest within a lesson.</summary>
internal sealed record BreakJson(Instant Start, int Minutes)
{
    public static IReadOnlyList<BreakJson> Of(Instant start, IReadOnlyList<LessonBreak> breaks) =>
        [.. breaks.Select(rest => new BreakJson(start + Duration.FromMinutes(rest.After), rest.Minutes))];
}

/// <summary>A lesson as the API tells it: <c>end</c> is <c>start</c> with the minutes of teaching and the breaks.</summary>
internal sealed record LessonJson(
    Guid Id, Guid PupilId, Guid InstructorId, Guid CarId, LessonKind Kind, Instant Start, Instant End, int Minutes, IReadOnlyList<BreakJson> Breaks, LessonState State, PlaceView PickUp, PlaceView DropOff,
    int Sequence, CancelReason? CancelledBecause, LessonChargeJson? Charge, bool? Chargeable, string? ChargePolicy, int? MinutesTaught, string? Note, Guid? SeriesId)
{
    // The charge holds what the two beside it hold, which older clients read.
    public static LessonJson Of(Lesson lesson, Viewer reader) => new(
        lesson.Id, lesson.PupilId, lesson.InstructorId, lesson.CarId, lesson.Kind, lesson.StartsAt, lesson.EndsAt, lesson.Minutes, BreakJson.Of(lesson.StartsAt, lesson.Breaks), lesson.State,
        PlaceView.Of(lesson.PickUp), PlaceView.Of(lesson.DropOff), lesson.Sequence, lesson.CancelledBecause,
        lesson.Charge is { } charge ? LessonChargeJson.Done(charge, reader) : null, lesson.Chargeable, lesson.Chargeable is null ? null : lesson.Charge?.Done(reader),
        lesson.MinutesTaught, lesson.Note.Length == 0 ? null : lesson.Note, lesson.SeriesId);

    /// <summary>As the reader may see it: somebody beside the pupil sees when and where it is, and nothing of money, reasons or what was taught.</summary>
    public static LessonJson ReadBy(Lesson lesson, Viewer reader) => reader.SeesAllOf(lesson) ? Of(lesson, reader)
        : Of(lesson, reader) with { CancelledBecause = null, Charge = null, Chargeable = null, ChargePolicy = null, MinutesTaught = null, Note = null, SeriesId = null };
}
