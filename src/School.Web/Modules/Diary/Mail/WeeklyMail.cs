using NodaTime;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Messages.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Modules.Diary.Mail;

/// <summary>One letter about several lessons of one pupil, where single letters would be a flood. Reminders stay one for each lesson.</summary>
internal sealed class WeeklyMail(LessonMail mail)
{
    public const string Booked = "weekly_booked";
    public const string Moved = "weekly_moved";
    public const string Cancelled = "weekly_cancelled";

    private static readonly Act OpenAll = new(LessonFact.Open, "/diary/lessons");

    public async Task BookedAsync(IReadOnlyList<Lesson> lessons, Viewer by, CancellationToken cancel)
    {
        var all = await mail.AboutAllAsync(lessons, cancel);
        await mail.TellAsync(all[0], Booked, [.. Times(all), .. all[0].Common()], [], by, uselessAt: null, cancel, OpenAll);
        await RemindAsync(all, cancel);
    }

    public async Task MovedAsync(IReadOnlyList<MovedLesson> moved, Viewer by, CancellationToken cancel)
    {
        var all = await mail.AboutAllAsync([.. moved.Select(m => m.Lesson)], cancel);
        await mail.WithdrawRemindersAsync(all, cancel);
        List<Fact> facts = [.. Times(all), .. moved.Select(m => Fact.Of(LessonFact.Before, m.From)), .. all[0].Common()];
        await mail.TellAsync(all[0], Moved, facts, [], by, uselessAt: null, cancel, OpenAll);
        await mail.TellFormerAsync(all[0], Moved, moved[0].FormerInstructorId, facts, by, cancel);
        await RemindAsync(all, cancel);
    }

    public async Task CancelledAsync(IReadOnlyList<Lesson> lessons, Viewer by, CancellationToken cancel)
    {
        var all = await mail.AboutAllAsync(lessons, cancel);
        await mail.WithdrawRemindersAsync(all, cancel);
        await mail.TellAsync(all[0], Cancelled, [.. Times(all), .. all[0].Common()], [], by, uselessAt: null, cancel, LessonMail.BookAnother);
    }

    private async Task RemindAsync(List<LetterFacts> all, CancellationToken cancel)
    {
        foreach (var about in all)
        {
            await mail.RemindAsync(about, cancel);
        }
    }

    /// <summary>Each lesson's time, with 1 where it is charged.</summary>
    private static IEnumerable<Fact> Times(IEnumerable<LetterFacts> all) =>
        all.Select(about => Fact.Of(LessonFact.Lesson, about.Lesson.During) with { Number = about.Lesson.Chargeable == true ? 1 : null });
}
