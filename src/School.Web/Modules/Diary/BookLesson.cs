using System.Text.Json.Serialization;
using NodaTime;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Travel.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary;

/// <summary>A lesson to book; places default to the pupil's pick-up, the drop-off to the pick-up.</summary>
internal sealed record BookRequest(
    [property: JsonRequired] Guid PupilId, [property: JsonRequired] Guid InstructorId, [property: JsonRequired] Instant Start,
    [property: JsonRequired] int Minutes, PlaceInput? PickUp = null, PlaceInput? DropOff = null);

/// <summary>Books a lesson: the rules are asked again under lock, the constraints of the table come last.</summary>
internal sealed class BookLesson(
    SchoolDb db, PupilBook pupils, SlotFinder slots, LessonLocks locks, LessonHistory history, LessonMail mail, SchoolInfo school,
    InstructorBook instructors, IClock clock)
{
    public async Task<Outcome<Lesson>> RunAsync(BookRequest request, Viewer viewer, CancellationToken cancel)
    {
        var errors = new FieldErrors().WrongStart(request.Start, clock)
            .When(request.Minutes is < Lesson.ShortestMinutes or > Lesson.LongestMinutes, nameof(request.Minutes), SlotFinder.LessonLength);
        var pickUp = request.PickUp is null ? null : errors.ReadPlace(nameof(request.PickUp), request.PickUp);
        var dropOff = request.DropOff is null ? null : errors.ReadPlace(nameof(request.DropOff), request.DropOff);
        if (errors.ToRefusal() is { } invalid)
        {
            return invalid;
        }

        if (await pupils.FindAsync(request.PupilId, viewer, cancel) is not { } pupil)
        {
            return Refusal.NotFound("pupil");
        }

        if (!viewer.MayBookWith(request.InstructorId) || await instructors.FindAsync(request.InstructorId, cancel) is null)
        {
            return Refusal.NotFound("instructor");
        }

        var facts = await school.GetAsync(cancel);
        var date = request.Start.InZone(facts.Zone).Date;
        var question = new SlotQuestion(pupil.Id, date, date, request.Minutes) { PickUp = pickUp, DropOff = dropOff };
        var outcome = await db.InTransactionAsync<Lesson>(
            async cancel =>
            {
                await locks.TakeAsync(pupil.Id, [new(request.InstructorId, date)], [], cancel);
                var verdict = await slots.CheckAsync(question, pupil, request.InstructorId, request.Start, viewer, cancel);
                if (!verdict.Ok)
                {
                    return verdict.Refusal;
                }

                var offer = verdict.Value;
                var lesson = Lesson.Book(
                    pupil.Id, offer.InstructorId, offer.CarId, new(offer.Start, offer.End), pickUp ?? pupil.PickUp,
                    dropOff ?? pickUp ?? pupil.PickUp, clock.GetCurrentInstant());
                db.Add(lesson);
                history.Note(lesson, ChangeKind.Booked, $"Booked for {facts.Short(lesson.StartsAt)}, {lesson.Minutes} minutes.", viewer);
                await mail.BookedAsync(lesson, viewer, cancel);
                return lesson;
            },
            cancel);
        return outcome.Ok ? outcome : await slots.WithAlternativesAsync(outcome.Refusal, question, request.InstructorId, request.Start, viewer, cancel);
    }
}
