using Hangfire;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Day;

/// <summary>
/// Where the school wants it, tells the pupil of the next lesson that it starts late: once, from the moment on at which the drive makes it so many minutes late. What is due
/// is worked out from what is written, so a worker that dies loses nothing and doubles nothing.
/// </summary>
internal sealed class TellLateByItself(
    SchoolDb db, PictureLoader pictures, LateReader reader, LateLetters letters, InstructorBook instructors, SchoolInfo school, IClock clock)
{
    public const string Job = "tell-late-by-itself";

    /// <summary>Less is not worth a letter.</summary>
    public const int FewestMinutes = 5;

    /// <summary>No drive between two lessons is longer, and no lesson that far ahead is late yet.</summary>
    private static readonly Duration Ahead = Duration.FromHours(4);

    private static readonly Refusal NothingDue = Refusal.Conflict("nothing_due", "Nobody is to be told.");

    /// <summary>The next run does what this one left, so a failed one is forgotten.</summary>
    [AutomaticRetry(Attempts = 0, OnAttemptsExceeded = AttemptsExceededAction.Delete)]
    public async Task RunAsync(CancellationToken cancel)
    {
        if ((await pictures.RulesAsync(cancel)).TellsLate == LateTelling.Never)
        {
            return;
        }

        var now = clock.GetCurrentInstant();
        var soon = now + Ahead;
        var ids = await db.Set<Lesson>().AsNoTracking().Where(l => l.State == LessonState.Booked && l.StartsAt > now && l.StartsAt <= soon)
            .Where(l => !db.Set<LateNote>().Any(n => n.LessonId == l.Id && n.StartsAt == l.StartsAt)).Select(l => l.InstructorId).Distinct().OrderBy(id => id).ToListAsync(cancel);
        foreach (var id in ids)
        {
            // Somebody who pressed the button meanwhile has told it: then nothing is due any more.
            _ = await db.InTransactionAsync<LateLesson>(cancel => TellAsync(id, cancel), cancel);
        }
    }

    private async Task<Outcome<LateLesson>> TellAsync(Guid instructorId, CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        var now = Instant.FromUnixTimeSeconds(clock.GetCurrentInstant().ToUnixTimeSeconds());
        await db.LockAsync([$"instructor-day:{instructorId}:{now.InZone(facts.Zone).Date:uuuu-MM-dd}"], cancel);
        var telling = (await pictures.RulesAsync(cancel)).TellsLate;
        if (await instructors.FindAsync(instructorId, cancel) is not { } instructor
            || await reader.DueAsync(instructor, facts, telling, FewestMinutes, now, cancel) is not { } due)
        {
            return NothingDue;
        }

        await letters.TellAsync(due, Viewer.Service, cancel);
        return due;
    }
}
