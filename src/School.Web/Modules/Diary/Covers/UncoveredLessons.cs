using NodaTime;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Diary.Waiting;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Covers;

/// <summary>What becomes of a lesson that nobody takes: it is cancelled by the school, free of charge, its pupil told why and put on the waiting list.</summary>
internal sealed class UncoveredLessons(PictureLoader pictures, LessonHistory history, LessonMail mail, JoinWaitingList waiting, IClock clock)
{
    /// <summary>In the transaction of the cover. The one place from which such pupils reach the waiting list.</summary>
    public async Task<Refusal?> GiveUpAsync(Lesson lesson, CancelReason because, Viewer viewer, CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        var decision = CancelPolicy.Decide(lesson, because, viewer, await pictures.RulesAsync(cancel), now);
        if (lesson.Cancel(because, decision.Chargeable, decision.Policy, now) is { } refusal)
        {
            return refusal;
        }

        history.Note(lesson, ChangeKind.Cancelled, $"Cancelled: {because.Words()}, and nobody could take it over. Not charged: {decision.Policy}", viewer);
        await waiting.AddAsync(lesson, cancel);
        await mail.CancelledAsync(lesson, viewer, cancel, "You are on the waiting list now: you get an e-mail when a time comes free.");
        return null;
    }
}
