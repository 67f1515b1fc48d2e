using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary.Charges;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>Why; and, where it was told, what it comes to: refused when that has changed.</summary>
internal sealed record CancelRequest(CancelReason Reason, ChargeCode? Charge = null);

/// <summary>Cancels a booked lesson and decides, by the terms of the day, whether it is charged.</summary>
internal sealed class CancelLesson(
    SchoolDb db, ChangeLessons changes, LessonGrounds grounds, LessonMail mail, IClock clock)
{
    public async Task<Outcome<Lesson>> RunAsync(Viewer viewer, Guid id, CancelRequest request, int? expected, CancellationToken cancel)
    {
        if (request.Reason.NotYours(viewer) is { } notYours)
        {
            return notYours;
        }

        return await db.InTransactionAsync<Lesson>(
            async cancel =>
            {
                if (await db.Set<Lesson>().AsNoTracking().VisibleTo(viewer).SingleOrDefaultAsync(l => l.Id == id, cancel) is not { } before)
                {
                    return Refusal.NotFound("lesson");
                }

                viewer = viewer.Towards(before.PupilId);
                if (request.Reason.NotYours(viewer) is { } notTheirs)
                {
                    return notTheirs;
                }

                Rows<Lesson> row = new();
                var wish = new GroundWish(before.PupilId, [new(before.InstructorId, before.StartsAt)])
                {
                    Cars = [before.CarId],
                    Also = together => row = together.Ask(db.Set<Lesson>().VisibleTo(viewer).Where(l => l.Id == id)),
                };
                await grounds.TakeAsync(viewer, wish, cancel);
                var taken = row.All.Take(id, expected, "lesson");
                if (taken is not { Ok: true, Value: { } lesson })
                {
                    return taken;
                }

                if (await ApplyAsync(viewer, lesson, request, cancel) is { } refusal)
                {
                    return refusal;
                }

                await mail.CancelledAsync(lesson, viewer, cancel);
                return lesson;
            },
            cancel);
    }

    /// <summary>Cancels it in the caller's transaction, under its locks. The caller writes the message.</summary>
    public async Task<Refusal?> ApplyAsync(Viewer viewer, Lesson lesson, CancelRequest request, CancellationToken cancel) =>
        NotNow(viewer, lesson) is { } refusal ? refusal : (await changes.CancelAsync(viewer.Towards(lesson.PupilId), lesson, request.Reason, cancel, request.Charge)).Refusal;

    /// <summary>Why it cannot be cancelled now; null when it can.</summary>
    public Refusal? NotNow(Viewer viewer, Lesson lesson) =>
        lesson.NotOpen("cancelled") is { } closed ? closed
        : !viewer.Towards(lesson.PupilId).IsStaff && lesson.StartsAt <= clock.GetCurrentInstant()
            ? Refusal.Rule("lesson_begun", "This lesson has begun, so it can no longer be cancelled here. Call the office.")
        : null;
}
