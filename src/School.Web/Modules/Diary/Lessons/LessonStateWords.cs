using NodaTime;
using School.Web.Modules.Diary.Contracts;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>A lesson's state in a word, for drawing beside its shape.</summary>
internal sealed record LessonStateWords(LessonState State, string Words, bool Heed)
{
    public static LessonStateWords Of(Lesson lesson, Instant now, bool withCharge = true) => new(
        lesson.State,
        lesson.State switch
        {
            LessonState.Booked when lesson.EndsAt <= now => "Over, not recorded yet",
            LessonState.Booked when lesson.StartsAt <= now => "Going on now",
            LessonState.Booked => "Booked",
            LessonState.Taught => "Taught",
            LessonState.Missed => withCharge && lesson.Chargeable == true ? "Missed, charged" : "Missed",
            LessonState.Cancelled when !withCharge => "Cancelled",
            LessonState.Cancelled => lesson.Chargeable == true ? "Cancelled, charged" : "Cancelled, free of charge",
        },
        lesson.State is LessonState.Missed || (withCharge && lesson.Chargeable == true));
}
