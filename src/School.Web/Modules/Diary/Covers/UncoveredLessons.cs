using NodaTime;
using School.Web.Modules.Diary.Mail;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Covers;

/// <summary>What becomes of a lesson that nobody takes: it is cancelled by the school, free of charge, and its pupil told why.</summary>
internal sealed class UncoveredLessons(PictureLoader pictures, LessonHistory history, LessonMail mail, IClock clock)
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
        await mail.CancelledAsync(lesson, viewer, cancel);
        return null;
    }
}
