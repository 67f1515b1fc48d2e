using Hangfire;
using NodaTime;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Syllabus.Lessons;

/// <summary>
/// Writes every pupil the plain brief of tomorrow's lesson once the evening has come: only then is it known what the last lesson
/// left. Of a lesson that moves afterwards the diary withdraws what still waits, and the next run writes the new one.
/// </summary>
internal sealed class EveningBriefs(
    SchoolDb db, LessonRecording lessons, BriefReader briefs, BriefSettingsBook settings, Outbox outbox, SchoolInfo school, IClock clock)
{
    public const string Job = "write-evening-briefs";

    /// <summary>The next run does what this one left, so a failed one is forgotten.</summary>
    [AutomaticRetry(Attempts = 0, OnAttemptsExceeded = AttemptsExceededAction.Delete)]
    public async Task RunAsync(CancellationToken cancel)
    {
        var zone = (await school.GetAsync(cancel)).Zone;
        var local = clock.GetCurrentInstant().InZone(zone);
        if ((await settings.ReadAsync(cancel)).Hour is not { } hour || local.Hour < hour)
        {
            return;
        }

        var tomorrow = new Interval(zone.AtStartOfDay(local.Date.PlusDays(1)).ToInstant(), zone.AtStartOfDay(local.Date.PlusDays(2)).ToInstant());
        var booked = await lessons.BookedAsync(tomorrow, cancel);
        var written = await outbox.WrittenAsync([.. booked.Select(KeyOf)], cancel);
        foreach (var lesson in booked.Where(lesson => !written.Contains(KeyOf(lesson))))
        {
            // Another node that was quicker has written it: its key says so, and that is well.
            _ = await WriteAsync(lesson, cancel);
        }
    }

    private static string KeyOf(LessonSheet lesson) => $"{LessonMessages.Brief}:{lesson.Id}:{lesson.Sequence}:pupil";

    private Task<Outcome<LessonSheet>> WriteAsync(LessonSheet found, CancellationToken cancel) => db.InTransactionAsync<LessonSheet>(
        async cancel =>
        {
            // Whoever moves or cancels a lesson holds its pupil too, so what is read now is still so when the letter is written.
            await db.LockAsync([$"pupil:{found.PupilId}"], cancel);
            if (await lessons.FindAsync(found.Id, Viewer.Service, cancel) is not { State: LessonState.Booked } lesson || lesson.Sequence != found.Sequence)
            {
                return Refusal.Conflict("lesson_changed", "The lesson has changed meanwhile.");
            }

            var brief = await briefs.OfAsync(lesson, Viewer.Service, cancel);
            await outbox.WriteAsync(
                new(LessonMessages.Brief, KeyOf(lesson), lesson.Id, Receiver.Pupil(lesson.PupilId), BriefWording.FactsOf(brief))
                {
                    Acts = [new(BriefWording.Open, LessonPages.Brief(lesson.Id))],
                    UselessAt = lesson.StartsAt,
                },
                cancel);

            return lesson;
        },
        cancel);
}
