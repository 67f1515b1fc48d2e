using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Diary.Waiting;
using School.Web.Modules.People.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Lessons;

internal sealed record CancelRequest(CancelReason Reason);

/// <summary>What cancelling now would mean, told before anybody presses the button.</summary>
internal sealed record CancelPreview(Lesson Lesson, bool Chargeable, string Policy, Instant FreeUntil);

/// <summary>Cancels a booked lesson and decides, by the policy of the day, whether it is charged.</summary>
internal sealed class CancelLesson(
    SchoolDb db, PictureLoader pictures, LessonLocks locks, LessonHistory history, LessonMail mail, FreedSlots freed,
    SchoolInfo school, IClock clock)
{
    public async Task<Outcome<Lesson>> RunAsync(Guid lessonId, CancelRequest request, int? expectedVersion, Viewer viewer, CancellationToken cancel)
    {
        var preview = await PreviewAsync(lessonId, request.Reason, viewer, cancel);
        if (!preview.Ok)
        {
            return preview.Refusal;
        }

        var (before, zone) = (preview.Value.Lesson, (await school.GetAsync(cancel)).Zone);
        return await db.InTransactionAsync<Lesson>(
            async cancel =>
            {
                var day = new DiaryDay(before.InstructorId, before.StartsAt.InZone(zone).Date);
                await locks.TakeAsync(before.PupilId, [day], [before.CarId], cancel);
                var lesson = await db.Set<Lesson>().SingleAsync(l => l.Id == lessonId, cancel);
                if (expectedVersion is { } version && version != lesson.Version)
                {
                    return Refusal.Stale;
                }

                if (await ApplyAsync(lesson, request.Reason, viewer, cancel) is { } refusal)
                {
                    return refusal;
                }

                await mail.CancelledAsync(lesson, viewer, cancel);
                return lesson;
            },
            cancel);
    }

    /// <summary>Cancels it and decides about the charge: in the caller's transaction, under its locks. The caller writes the message.</summary>
    public async Task<Refusal?> ApplyAsync(Lesson lesson, CancelReason reason, Viewer viewer, CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        var decision = CancelPolicy.Decide(lesson, reason, viewer, await pictures.RulesAsync(cancel), now);
        if (lesson.Cancel(reason, decision.Chargeable, decision.Policy, now) is { } refusal)
        {
            return refusal;
        }

        var charged = decision.Chargeable ? "To be charged" : "Not charged";
        freed.Note(lesson.PupilId, lesson.InstructorId, lesson.During, reason);
        history.Note(lesson, ChangeKind.Cancelled, $"Cancelled: {reason.Words()}. {charged}: {decision.Policy}", viewer);
        return null;
    }

    /// <summary>The lesson and the decision if it were cancelled now; refuses what could not be cancelled.</summary>
    public async Task<Outcome<CancelPreview>> PreviewAsync(Guid lessonId, CancelReason reason, Viewer viewer, CancellationToken cancel)
    {
        if (!viewer.IsStaff && reason is not (CancelReason.Pupil or CancelReason.Other))
        {
            return Refusal.Invalid(nameof(CancelRequest.Reason), "Choose your own reason, or another; the rest are for the school to give.");
        }

        var lesson = await db.Set<Lesson>().AsNoTracking().VisibleTo(viewer).SingleOrDefaultAsync(l => l.Id == lessonId, cancel);
        if (lesson is null)
        {
            return Refusal.NotFound("lesson");
        }

        var now = clock.GetCurrentInstant();
        if (lesson.NotOpen("cancelled") is { } closed)
        {
            return closed;
        }

        if (!viewer.IsStaff && lesson.StartsAt <= now)
        {
            return Refusal.Rule("lesson_begun", "This lesson has begun, so it can no longer be cancelled here. Call the office.");
        }

        var rules = await pictures.RulesAsync(cancel);
        var decision = CancelPolicy.Decide(lesson, reason, viewer, rules, now);
        return new CancelPreview(lesson, decision.Chargeable, decision.Beforehand ?? decision.Policy, CancelPolicy.FreeUntil(lesson.StartsAt, rules));
    }
}
