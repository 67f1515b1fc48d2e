using System.Text.Json.Serialization;
using NodaTime;
using School.Core;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>A lesson to book; places default to the pupil's pick-up, the drop-off to the pick-up.</summary>
internal sealed record BookRequest(
    [property: JsonRequired] Guid PupilId, [property: JsonRequired] Guid InstructorId, [property: JsonRequired] Instant Start,
    [property: JsonRequired, Between(Lesson.ShortestMinutes, Lesson.LongestMinutes)] int Minutes, PlaceInput? PickUp = null, PlaceInput? DropOff = null);

/// <summary>Books a lesson: the rules are asked again under lock, the constraints of the table come last.</summary>
internal sealed class BookLesson(
    SchoolDb db, PupilBook pupils, SlotFinder slots, LessonLocks locks, LessonHistory history, LessonMail mail, SchoolInfo school,
    InstructorBook instructors, IClock clock)
{
    public async Task<Outcome<Lesson>> RunAsync(Viewer viewer, BookRequest request, CancellationToken cancel)
    {
        var read = await ReadAsync(request, viewer, cancel);
        if (!read.Ok)
        {
            return read.Refusal;
        }

        var asked = read.Value;
        var date = request.Start.InZone((await school.GetAsync(cancel)).Zone).Date;
        var outcome = await db.InTransactionAsync<Lesson>(
            async cancel =>
            {
                await locks.TakeAsync(asked.Pupil.Id, [new(request.InstructorId, date)], [], cancel);
                var added = await AddAsync(asked, request.Start, null, viewer, cancel);
                if (added.Ok)
                {
                    await mail.BookedAsync(added.Value, viewer, cancel);
                }

                return added;
            },
            cancel);
        return outcome.Ok
            ? outcome
            : await slots.WithAlternativesAsync(outcome.Refusal, asked.Question(date, date), request.InstructorId, request.Start, viewer, cancel);
    }

    /// <summary>What was asked for, read and found to be the viewer's to book; the time itself is not looked at.</summary>
    public async Task<Outcome<BookingAsked>> ReadAsync(BookRequest request, Viewer viewer, CancellationToken cancel)
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

        return viewer.MayBookWith(request.InstructorId) && await instructors.FindAsync(request.InstructorId, cancel) is { } instructor
            ? new BookingAsked(pupil, instructor, request.Minutes, pickUp ?? pupil.PickUp, dropOff ?? pickUp ?? pupil.PickUp)
            : Refusal.NotFound("instructor");
    }

    /// <summary>Adds the lesson where it fits: in the caller's transaction, under its locks. The caller writes the message.</summary>
    public async Task<Outcome<Lesson>> AddAsync(BookingAsked asked, Instant start, Guid? seriesId, Viewer viewer, CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        var date = start.InZone(facts.Zone).Date;
        var verdict = await slots.CheckAsync(asked.Question(date, date), asked.Pupil, asked.Instructor.Id, start, viewer, cancel);
        if (!verdict.Ok)
        {
            return verdict.Refusal;
        }

        var offer = verdict.Value;
        var lesson = Lesson.Book(
            asked.Pupil.Id, offer.InstructorId, offer.CarId, new(offer.Start, offer.End), asked.PickUp, asked.DropOff, clock.GetCurrentInstant(), seriesId);
        db.Add(lesson);
        var weekly = seriesId is null ? "" : " Weekly lesson.";
        history.Note(lesson, ChangeKind.Booked, $"Booked for {facts.Short(lesson.StartsAt)}, {lesson.Minutes} minutes.{weekly}", viewer);
        return lesson;
    }
}

/// <summary>A lesson asked for: who, with whom, how long and where; only the time is still open.</summary>
internal sealed record BookingAsked(PupilCard Pupil, InstructorCard Instructor, int Minutes, Place PickUp, Place DropOff)
{
    public SlotQuestion Question(LocalDate from, LocalDate to) => new(Pupil.Id, from, to, Minutes) { PickUp = PickUp, DropOff = DropOff };
}
