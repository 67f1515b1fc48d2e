using System.Text.Json.Serialization;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary.Charges;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>
/// Where to move a lesson, with the same instructor unless another is named; why, the pupil's own reason when none is given; and, where it was told, what it comes to.
/// Staff may say whether the pupil was asked and agrees: false is refused where backing out costs the pupil more at the new time.
/// </summary>
internal sealed record MoveRequest([property: JsonRequired] Instant Start, Guid? InstructorId = null, CancelReason? Reason = null, ChargeCode? Charge = null, bool? Asked = null);

/// <summary>Moves a booked lesson, keeping its length and places, by the same checks as booking.</summary>
internal sealed class MoveLesson(
    SchoolDb db, ChangeLessons changes, PictureLoader pictures, SlotFinder slots, LessonGrounds grounds, LessonMail mail, SchoolInfo school, IClock clock)
{
    public static readonly Refusal ChangedMeanwhile = Refusal.Conflict("lesson_changed", "Somebody changed this lesson a moment ago. Look at it again.");

    public async Task<Outcome<Lesson>> RunAsync(Viewer viewer, Guid id, MoveRequest request, int? expected, CancellationToken cancel)
    {
        var reason = request.Reason ?? CancelReason.Pupil;
        if ((new FieldErrors().WrongStart(request.Start, clock).ToRefusal() ?? reason.NotYours(viewer)) is { } invalid)
        {
            return invalid;
        }

        Lesson? seen = null;
        LocalDate date = default;
        var outcome = await db.InTransactionAsync<Lesson>(
            async cancel =>
            {
                var before = seen = await db.Set<Lesson>().AsNoTracking().VisibleTo(viewer).SingleOrDefaultAsync(l => l.Id == id, cancel);
                if (before is null)
                {
                    return Refusal.NotFound("lesson");
                }

                viewer = viewer.Towards(before.PupilId);
                if (reason.NotYours(viewer) is { } notTheirs)
                {
                    return notTheirs;
                }

                Rows<Lesson> row = new();
                var instructorId = request.InstructorId ?? before.InstructorId;
                var wish = new GroundWish(before.PupilId, [new(instructorId, request.Start), new(before.InstructorId, before.StartsAt)])
                {
                    Cars = [before.CarId],
                    Question = (_, date) => SlotQuestion.ToMove(before, date),
                    Also = together => row = together.Ask(db.Set<Lesson>().VisibleTo(viewer).Where(l => l.Id == id)),
                };
                var ground = await grounds.TakeAsync(viewer, wish, cancel);
                date = ground.Standing.DateOf(request.Start);
                if (ground.Pupil is not { } pupil)
                {
                    return Refusal.NotFound("lesson");
                }

                if (!viewer.MayBookWith(instructorId) || ground.Instructor(instructorId) is not { } instructor)
                {
                    return Refusal.NotFound("instructor");
                }

                var taken = row.All.Take(id, expected, "lesson");
                if (taken is not { Ok: true, Value: { } lesson })
                {
                    return taken;
                }

                if (lesson.InstructorId != before.InstructorId || lesson.StartsAt != before.StartsAt)
                {
                    return ChangedMeanwhile;
                }

                if (await NotNowAsync(viewer, lesson, cancel) is { } refusal)
                {
                    return refusal;
                }

                var moved = await ApplyAsync(viewer, lesson, pupil, instructor, request.Start, reason.Cause(viewer), cancel, request.Charge, viewer.IsStaff ? request.Asked : null);
                if (!moved.Ok)
                {
                    return moved.Refusal;
                }

                if (moved.Value.IsTold)
                {
                    await mail.MovedAsync(moved.Value, viewer, cancel);
                }

                return lesson;
            },
            cancel);
        return outcome.Ok || seen is null ? outcome : await slots.WithAlternativesAsync(
            outcome.Refusal, SlotQuestion.ToMove(seen, date), request.InstructorId ?? seen.InstructorId, request.Start, viewer, cancel);
    }

    /// <summary>Moves it where it fits: in the caller's transaction, under its locks. The caller writes the message.</summary>
    public async Task<Outcome<MovedLesson>> ApplyAsync(
        Viewer viewer, Lesson lesson, PupilCard pupil, InstructorCard instructor, Instant start, ChargeCause cause, CancellationToken cancel, ChargeCode? told = null, bool? asked = null,
        bool offers = true, MovedFor movedFor = MovedFor.Itself)
    {
        var date = start.InZone((await school.GetAsync(cancel)).Zone).Date;
        var verdict = await slots.CheckAsync(SlotQuestion.ToMove(lesson, date), pupil, instructor.Id, start, viewer, cancel);
        return verdict.Ok
            ? await changes.MoveAsync(
                viewer, lesson, new(verdict.Value.InstructorId, verdict.Value.CarId, new(verdict.Value.Start, verdict.Value.End)) { Breaks = verdict.Value.Breaks }, cause, cancel, movedFor, told, asked, offers)
            : verdict.Refusal;
    }

    /// <summary>Why it cannot be moved now; null when it can. A pupil moves until the notice begins, the school also inside it.</summary>
    public async Task<Refusal?> NotNowAsync(Viewer viewer, Lesson lesson, CancellationToken cancel)
    {
        if (lesson.NotOpen("moved") is { } closed)
        {
            return closed;
        }

        var (now, terms) = (clock.GetCurrentInstant(), (await pictures.RulesAsync(cancel)).Charges());
        return viewer.Towards(lesson.PupilId).IsStaff ? null
            : lesson.StartsAt <= now ? Refusal.Rule("lesson_begun", "This lesson has begun, so it can no longer be moved. Call the office.")
            : terms.IsFree(lesson.StartsAt, now) ? null
            : Refusal.Rule(
                "inside_move_notice",
                $"Lessons are moved at least {Words.Count(terms.FreeHours, "hour")} ahead. Call the office, or cancel this lesson and see first whether it is charged.");
    }
}
