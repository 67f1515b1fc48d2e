using System.Text.Json.Serialization;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Diary.Waiting;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>Where to move a lesson; with the same instructor unless another is named.</summary>
internal sealed record MoveRequest([property: JsonRequired] Instant Start, Guid? InstructorId = null);

/// <summary>Moves a booked lesson, keeping its length and places, by the same checks as booking.</summary>
internal sealed class MoveLesson(
    SchoolDb db, PupilBook pupils, PictureLoader pictures, SlotFinder slots, LessonLocks locks, LessonHistory history, LessonMail mail,
    FreedSlots freed, SchoolInfo school, InstructorBook instructors, IClock clock)
{
    private static readonly Refusal ChangedMeanwhile = Refusal.Conflict("lesson_changed", "Somebody changed this lesson a moment ago. Look at it again.");

    public async Task<Outcome<Lesson>> RunAsync(Guid lessonId, MoveRequest request, int? expectedVersion, Viewer viewer, CancellationToken cancel)
    {
        if (new FieldErrors().WrongStart(request.Start, clock).ToRefusal() is { } invalid)
        {
            return invalid;
        }

        var before = await db.Set<Lesson>().AsNoTracking().VisibleTo(viewer).SingleOrDefaultAsync(l => l.Id == lessonId, cancel);
        if (before is null || await pupils.FindAsync(before.PupilId, viewer, cancel) is not { } pupil)
        {
            return Refusal.NotFound("lesson");
        }

        var instructorId = request.InstructorId ?? before.InstructorId;
        if (!viewer.MayBookWith(instructorId) || await instructors.FindAsync(instructorId, cancel) is not { } instructor)
        {
            return Refusal.NotFound("instructor");
        }

        if (!viewer.IsStaff && TooLate(before, await pictures.RulesAsync(cancel)) is { } late)
        {
            return late;
        }

        var facts = await school.GetAsync(cancel);
        var date = request.Start.InZone(facts.Zone).Date;
        var question = SlotQuestion.ToMove(before, date);
        var outcome = await db.InTransactionAsync<Lesson>(
            async cancel =>
            {
                var days = new[] { new DiaryDay(instructorId, date), new DiaryDay(before.InstructorId, before.StartsAt.InZone(facts.Zone).Date) };
                await locks.TakeAsync(pupil.Id, days, [before.CarId], cancel);
                var lesson = await db.Set<Lesson>().SingleAsync(l => l.Id == lessonId, cancel);
                if (expectedVersion is { } version && version != lesson.Version)
                {
                    return Refusal.Stale;
                }

                if (lesson.InstructorId != before.InstructorId || lesson.StartsAt != before.StartsAt)
                {
                    return ChangedMeanwhile;
                }

                if (lesson.NotOpen("moved") is { } closed)
                {
                    return closed;
                }

                var applied = await ApplyAsync(lesson, pupil, instructor, request.Start, viewer, cancel);
                if (!applied.Ok)
                {
                    return applied.Refusal;
                }

                await mail.MovedAsync(lesson, applied.Value, before.InstructorId, viewer, cancel);
                return lesson;
            },
            cancel);
        return outcome.Ok ? outcome : await slots.WithAlternativesAsync(outcome.Refusal, question, instructorId, request.Start, viewer, cancel);
    }

    /// <summary>Moves it where it fits: in the caller's transaction, under its locks. Answers where it was; the caller writes the message.</summary>
    public async Task<Outcome<Interval>> ApplyAsync(
        Lesson lesson, PupilCard pupil, InstructorCard instructor, Instant start, Viewer viewer, CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        var question = SlotQuestion.ToMove(lesson, start.InZone(facts.Zone).Date);
        var verdict = await slots.CheckAsync(question, pupil, instructor.Id, start, viewer, cancel);
        if (!verdict.Ok)
        {
            return verdict.Refusal;
        }

        var former = lesson.InstructorId;
        var (offer, from, handedOver) = (verdict.Value, lesson.During, instructor.Id == lesson.InstructorId ? "" : $", now with {instructor.Name}");
        if (lesson.Move(offer.InstructorId, offer.CarId, new(offer.Start, offer.End), clock.GetCurrentInstant()) is { } refusal)
        {
            return refusal;
        }

        freed.Note(pupil.Id, former, from);
        history.Note(lesson, ChangeKind.Moved, $"Moved from {facts.Short(from.Start)} to {facts.Short(lesson.StartsAt)}{handedOver}.", viewer);
        return from;
    }

    /// <summary>Why a pupil may no longer move it; null while they may.</summary>
    public Refusal? TooLate(Lesson lesson, DiaryRules rules)
    {
        var now = clock.GetCurrentInstant();
        return lesson.StartsAt <= now ? Refusal.Rule("lesson_begun", "This lesson has begun, so it can no longer be moved. Call the office.")
            : lesson.StartsAt - now < Duration.FromHours(rules.NoticeToMoveHours) ? Refusal.Rule(
                "inside_move_notice",
                $"Lessons are moved at least {Words.Count(rules.NoticeToMoveHours, "hour")} ahead. Call the office, or cancel this lesson and see first whether it is charged.")
            : null;
    }
}
