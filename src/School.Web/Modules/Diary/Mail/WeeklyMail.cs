using NodaTime;
using School.Web.Modules.Diary.Lessons;
using School.Web.Platform.Access;

namespace School.Web.Modules.Diary.Mail;

/// <summary>A lesson that was moved, with what it was before.</summary>
internal sealed record MovedLesson(Lesson Lesson, Interval From, Guid FormerInstructorId);

/// <summary>One letter about several lessons of one pupil, where single letters would be a flood. Reminders stay one for each lesson.</summary>
internal sealed class WeeklyMail(LessonMail mail)
{
    public const string Booked = "weekly_booked";
    public const string Moved = "weekly_moved";
    public const string Cancelled = "weekly_cancelled";

    public async Task BookedAsync(IReadOnlyList<Lesson> lessons, Viewer by, CancellationToken cancel)
    {
        var all = await mail.AboutAllAsync(lessons, cancel);
        mail.SendAbout(all[0], Booked, WeeklyLetters.BookedForPupil(all), WeeklyLetters.BookedForInstructor(all), by);
        all.ForEach(mail.Remind);
    }

    public async Task MovedAsync(IReadOnlyList<MovedLesson> moved, Viewer by, CancellationToken cancel)
    {
        var all = await mail.AboutAllAsync([.. moved.Select(m => m.Lesson)], cancel);
        var from = moved.Select(m => m.From).ToList();
        await mail.WithdrawRemindersAsync(all, cancel);
        mail.SendAbout(all[0], Moved, WeeklyLetters.MovedForPupil(all, from), WeeklyLetters.MovedForInstructor(all, from), by);
        await mail.SendToFormerAsync(all[0], Moved, moved[0].FormerInstructorId, former => WeeklyLetters.HandedOver(all, former, from), by, cancel);
        all.ForEach(mail.Remind);
    }

    public async Task CancelledAsync(IReadOnlyList<Lesson> lessons, Viewer by, CancellationToken cancel)
    {
        var all = await mail.AboutAllAsync(lessons, cancel);
        await mail.WithdrawRemindersAsync(all, cancel);
        mail.SendAbout(all[0], Cancelled, WeeklyLetters.CancelledForPupil(all), WeeklyLetters.CancelledForInstructor(all), by);
    }
}
