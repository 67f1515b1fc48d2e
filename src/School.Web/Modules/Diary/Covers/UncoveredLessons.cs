using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.Diary.Waiting;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Covers;

/// <summary>What becomes of a lesson that nobody takes: it is cancelled by the school, free of charge, its pupil told why and put on the waiting list.</summary>
internal sealed class UncoveredLessons(ChangeLessons changes, JoinWaitingList waiting)
{
    /// <summary>In the transaction of the cover. The one place from which such pupils reach the waiting list.</summary>
    public async Task<Refusal?> GiveUpAsync(Viewer viewer, Lesson lesson, CancelReason because, ChangesMade made, CancellationToken cancel)
    {
        var cancelled = await changes.CancelAsync(viewer, lesson, because, cancel, also: ", and nobody could take it over");
        if (cancelled.Ok)
        {
            await waiting.AddAsync(lesson, cancel);
            made.Cancelled(lesson, waits: true);
        }

        return cancelled.Refusal;
    }
}
