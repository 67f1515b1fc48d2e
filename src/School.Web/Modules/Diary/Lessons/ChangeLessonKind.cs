using System.Text.Json.Serialization;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core;
using School.Core.Diary;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.Diary.Search;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>
/// What a lesson becomes, and how long: if not told, its length stays where the kind is given in that, else the kind's first. And whether the pupil was asked
/// and agrees, where backing out costs them more then.
/// </summary>
internal sealed record ChangeKindRequest(
    [property: JsonRequired] LessonKind Kind, [property: Between(Lesson.ShortestMinutes, Lesson.LongestMinutes)] int? Minutes = null, bool Asked = false);

/// <summary>Makes a booked lesson another kind at its own time, by the same checks as booking one of that kind. For staff.</summary>
internal sealed class ChangeLessonKind(
    SchoolDb db, ChangeLessons changes, PictureLoader pictures, SlotFinder slots, LessonGrounds grounds, LessonMail mail, IClock clock)
{
    public async Task<Outcome<Lesson>> RunAsync(Viewer viewer, Guid id, ChangeKindRequest request, int? expected, CancellationToken cancel)
    {
        if (new FieldErrors().When(request.Minutes is < Lesson.ShortestMinutes or > Lesson.LongestMinutes, nameof(request.Minutes), SlotFinder.LessonLength).ToRefusal() is { } invalid)
        {
            return invalid;
        }

        return await db.InTransactionAsync<Lesson>(
            async cancel =>
            {
                if (await db.Set<Lesson>().AsNoTracking().KeptBy(viewer).SingleOrDefaultAsync(l => l.Id == id, cancel) is not { } before)
                {
                    return Refusal.NotFound("lesson");
                }

                Rows<Lesson> row = new();
                var wish = new GroundWish(before.PupilId, [new(before.InstructorId, before.StartsAt)])
                {
                    Kind = request.Kind,
                    Cars = [before.CarId],
                    Question = (_, date) => SlotQuestion.ToMove(before, date) with { Kind = request.Kind },
                    Also = together => row = together.Ask(db.Set<Lesson>().KeptBy(viewer).Where(l => l.Id == id)),
                };
                var ground = await grounds.TakeAsync(viewer, wish, cancel);
                var taken = row.All.Take(id, expected, "lesson");
                if (taken is not { Ok: true, Value: { } lesson } || ground.Pupil is not { } pupil)
                {
                    return taken.Refusal ?? Refusal.NotFound("lesson");
                }

                if (lesson.InstructorId != before.InstructorId || lesson.StartsAt != before.StartsAt)
                {
                    return MoveLesson.ChangedMeanwhile;
                }

                var rule = (await pictures.RulesAsync(cancel)).KindOf(request.Kind);
                if ((NotNow(lesson) ?? (request.Kind == lesson.Kind ? null : rule.NotFor(viewer))) is { } refusal)
                {
                    return refusal;
                }

                var question = SlotQuestion.ToMove(lesson, ground.Standing.DateOf(lesson.StartsAt)) with
                {
                    Kind = request.Kind,
                    Minutes = request.Minutes ?? rule.Usual(lesson.Minutes),
                    OwnCarId = lesson.CarId,
                };
                var verdict = await slots.CheckAsync(question, pupil, lesson.InstructorId, lesson.StartsAt, viewer, cancel);
                if (!verdict.Ok)
                {
                    return verdict.Refusal;
                }

                var (offer, was) = (verdict.Value, lesson.During);
                if (request.Kind == lesson.Kind && new Interval(offer.Start, offer.End) == was && offer.Breaks.SequenceEqual(lesson.Breaks))
                {
                    return lesson;
                }

                var former = lesson.Kind;
                var changed = await changes.BecomeAsync(viewer, lesson, request.Kind, new(offer.InstructorId, offer.CarId, new(offer.Start, offer.End)) { Breaks = offer.Breaks }, request.Asked, cancel);
                if (changed is { Ok: true, Value: true })
                {
                    await mail.BecameAsync(lesson, former, was, viewer, cancel);
                }

                return changed.Ok ? lesson : changed.Refusal;
            },
            cancel);
    }

    /// <summary>Why its kind cannot be changed now; null when it can.</summary>
    public Refusal? NotNow(Lesson lesson) =>
        lesson.NotOpen("made another kind") is { } closed ? closed
        : lesson.StartsAt <= clock.GetCurrentInstant() ? Refusal.Rule("lesson_begun", "This lesson has begun, so its kind can no longer be changed.")
        : null;
}
