using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Mail;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Day;

/// <summary>Tells the pupil of a late lesson: what was told, the line of the lesson's history and the letter, in the transaction that decided it.</summary>
internal sealed class LateLetters(SchoolDb db, LessonMail mail, LessonHistory history, IClock clock)
{
    public async Task TellAsync(LateLesson late, Viewer viewer, CancellationToken cancel)
    {
        var lesson = late.Lesson;
        if (await db.Set<LateNote>().SingleOrDefaultAsync(n => n.LessonId == lesson.Id, cancel) is not { } note)
        {
            note = new() { LessonId = lesson.Id, StartsAt = lesson.StartsAt, Minutes = 0, ToldAt = default };
            db.Add(note);
        }

        (note.StartsAt, note.Minutes, note.ToldAt) = (lesson.StartsAt, late.LateMinutes, clock.GetCurrentInstant());
        note.Times++;
        var told = late.Pupil.HasEmail ? "Told" : "Not told, as there is no e-mail address";
        history.Note(
            lesson, ChangeKind.ToldLate, $"{told}: {(late.LateMinutes > 0 ? $"about {Words.Count(late.LateMinutes, "minute")} late" : "on time after all")}.", viewer);
        await mail.LateAsync(lesson, late.Stop.Starts, late.LateMinutes, note.Times, cancel);
    }
}
