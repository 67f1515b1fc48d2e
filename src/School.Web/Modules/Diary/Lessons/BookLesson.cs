using System.Text.Json.Serialization;
using NodaTime;
using School.Core;
using School.Core.Cars;
using School.Core.Diary;
using School.Core.Pupils;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Places.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>A lesson to book; places default to the pupil's pick-up, the drop-off to the pick-up.</summary>
internal sealed record BookRequest(
    [property: JsonRequired] Guid PupilId, [property: JsonRequired] Guid InstructorId, [property: JsonRequired] Instant Start,
    [property: JsonRequired, Between(Lesson.ShortestMinutes, Lesson.LongestMinutes)] int Minutes, PlaceInput? PickUp = null, PlaceInput? DropOff = null,
    LessonKind? Kind = null, Gearbox? Gearbox = null);

/// <summary>Books a lesson: the rules are asked again under lock, the constraints of the table come last.</summary>
internal sealed class BookLesson(
    SchoolDb db, PupilBook pupils, PlaceFinder found, SlotFinder slots, LessonGrounds grounds, LessonHistory history, LessonMail mail, SchoolInfo school,
    InstructorBook instructors, PictureLoader pictures, OwnPupils own, LearnsIn learnsIn, IClock clock)
{
    public async Task<Outcome<Lesson>> RunAsync(Viewer viewer, BookRequest request, CancellationToken cancel)
    {
        viewer = viewer.Towards(request.PupilId);
        var places = await PlacesAsync(request, viewer, cancel);
        if (!places.Ok)
        {
            return places.Refusal;
        }

        BookingAsked? asked = null;
        LocalDate date = default;
        var outcome = await db.InTransactionAsync<Lesson>(
            async cancel =>
            {
                var wish = new GroundWish(request.PupilId, [new(request.InstructorId, request.Start)])
                {
                    Kind = request.Kind ?? LessonKind.Standard,
                    Question = (pupil, date) => places.Value.Question(pupil, date, request.Minutes, request.Kind) with { Gearbox = request.Gearbox },
                };
                var ground = await grounds.TakeAsync(viewer, wish, cancel);
                var read = Asked(request, places.Value, viewer, ground.Pupil, ground.Instructor(request.InstructorId));
                if (!read.Ok)
                {
                    return read.Refusal;
                }

                if (await own.RefuseToArrangeAsync(viewer, request.PupilId, cancel) is { } notYours)
                {
                    return notYours;
                }

                (asked, date) = (read.Value, ground.Standing.DateOf(request.Start));
                var added = await AddAsync(asked, request.Start, null, viewer, cancel);
                if (added.Ok)
                {
                    await mail.BookedAsync(added.Value, viewer, cancel);
                }

                return added;
            },
            cancel);
        return outcome.Ok || asked is null
            ? outcome
            : await slots.WithAlternativesAsync(outcome.Refusal, asked.Question(date, date), request.InstructorId, request.Start, viewer, cancel);
    }

    /// <summary>What was asked for, read and found to be the viewer's to book; the time itself is not looked at.</summary>
    public async Task<Outcome<BookingAsked>> ReadAsync(BookRequest request, Viewer viewer, CancellationToken cancel)
    {
        viewer = viewer.Towards(request.PupilId);
        var places = await PlacesAsync(request, viewer, cancel);
        if (!places.Ok)
        {
            return places.Refusal;
        }

        var asked = Asked(request, places.Value, viewer, await pupils.FindAsync(request.PupilId, viewer, cancel), await instructors.FindAsync(request.InstructorId, cancel));
        return asked.Ok && await own.RefuseToArrangeAsync(viewer, request.PupilId, cancel) is { } notYours ? notYours : asked;
    }

    private static Outcome<BookingAsked> Asked(BookRequest request, AskedPlaces places, Viewer viewer, PupilCard? pupil, InstructorCard? instructor)
    {
        if (pupil is null)
        {
            return Refusal.NotFound("pupil");
        }

        if (!viewer.MayBookWith(request.InstructorId) || instructor is null)
        {
            return Refusal.NotFound("instructor");
        }

        if (request.Gearbox is { } said && said != pupil.Gearbox && !pupil.Missing.HasFlag(FirstLessonNeeds.Gearbox))
        {
            return Refusal.Invalid(nameof(request.Gearbox), $"It is known already: {pupil.Gearbox.Words()}. Leave it out, or change it on the pupil’s page first.");
        }

        var settled = viewer.IsStaff ? LearnsIn.Settled(pupil, request.Gearbox, [instructor.Facts.Teaches]) : pupil;
        var (pickUp, dropOff) = places.For(pupil);
        return new BookingAsked(settled, instructor, request.Minutes, pickUp, dropOff)
        {
            Kind = request.Kind ?? LessonKind.Standard,
            SettlesGearbox = settled != pupil,
        };
    }

    /// <summary>What the request says by itself, with all that is wrong with it.</summary>
    private async Task<Outcome<AskedPlaces>> PlacesAsync(BookRequest request, Viewer viewer, CancellationToken cancel)
    {
        var errors = new FieldErrors().WrongStart(request.Start, clock)
            .When(request.Minutes is < Lesson.ShortestMinutes or > Lesson.LongestMinutes, nameof(request.Minutes), SlotFinder.LessonLength);
        var pickUp = request.PickUp is null ? null : errors.ReadPlace(nameof(request.PickUp), await found.LookAsync(request.PickUp, request.PupilId, viewer, cancel));
        var dropOff = request.DropOff is null ? null : errors.ReadPlace(nameof(request.DropOff), await found.LookAsync(request.DropOff, request.PupilId, viewer, cancel));
        return errors.ToRefusal() is { } invalid ? invalid : new AskedPlaces(pickUp, dropOff);
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
            asked.Pupil.Id, offer.InstructorId, offer.CarId, new(offer.Start, offer.End), asked.PickUp, asked.DropOff, clock.GetCurrentInstant(), seriesId, kind: asked.Kind,
            breaks: offer.Breaks);
        db.Add(lesson);
        if (asked.SettlesGearbox)
        {
            await learnsIn.KeepAsync(viewer, asked.Pupil, cancel);
        }

        var weekly = seriesId is null ? "" : " Weekly lesson.";
        var kind = (await pictures.RulesAsync(cancel)).NameOf(lesson.Kind) is { } name ? $" {name}." : "";
        history.Note(lesson, ChangeKind.Booked, $"Booked for {facts.Short(lesson.StartsAt)}, {lesson.Minutes} minutes.{kind}{weekly}", viewer);
        return lesson;
    }
}

/// <summary>A lesson asked for: who, with whom, how long and where; only the time is still open.</summary>
internal sealed record BookingAsked(PupilCard Pupil, InstructorCard Instructor, int Minutes, Place PickUp, Place DropOff)
{
    public LessonKind Kind { get; init; }

    /// <summary>Whether booking it says in which gearbox the pupil learns.</summary>
    public bool SettlesGearbox { get; init; }

    public SlotQuestion Question(LocalDate from, LocalDate to) => new(Pupil.Id, from, to, Minutes)
    {
        PickUp = PickUp,
        DropOff = DropOff,
        Kind = Kind,
        Gearbox = SettlesGearbox ? Pupil.Gearbox : null,
    };
}

/// <summary>The places that were named; the pupil's own stand in for the others.</summary>
internal sealed record AskedPlaces(Place? PickUp, Place? DropOff)
{
    public (Place PickUp, Place DropOff) For(PupilCard pupil) => (PickUp ?? pupil.PickUp, DropOff ?? PickUp ?? pupil.PickUp);

    public SlotQuestion Question(PupilCard pupil, LocalDate date, int minutes, LessonKind? kind = null) =>
        new(pupil.Id, date, date, minutes) { PickUp = For(pupil).PickUp, DropOff = For(pupil).DropOff, Kind = kind ?? LessonKind.Standard };
}
