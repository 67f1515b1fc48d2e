using Microsoft.EntityFrameworkCore;
using NodaTime;
using NodaTime.Text;
using School.Core.Pupils;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Day;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Syllabus.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary;

/// <summary>Something that somebody in the office should look at.</summary>
/// <param name="Kind">Stable word: <c>car_paper</c>, <c>registration</c>, <c>impossible_lesson</c>, <c>unrecorded_lesson</c>, <c>test_day</c>, <c>theory_certificate</c>, <c>licence_check</c>
/// or <c>failed_message</c>.</param>
/// <param name="Sentence">What it is and what to do.</param>
/// <param name="Href">The page where it is put right.</param>
/// <param name="Since">The day it runs out, the day of the lesson, or the day on which the message was given up.</param>
internal sealed record AttentionItem(string Kind, string Sentence, string Href, LocalDate Since);

/// <summary>Papers about to run out, lessons that cannot take place, lessons past that nobody recorded, and messages that did not get through.</summary>
internal sealed class AttentionList(
    SchoolDb db, DiaryCheck check, CarPark carPark, InstructorBook instructors, PupilBook pupils, MessageQueries messages, SchoolInfo school,
    TestDayReader tests, IClock clock)
{
    public const string CarPaper = "car_paper";
    public const string Registration = "registration";
    public const string ImpossibleLesson = "impossible_lesson";
    public const string UnrecordedLesson = "unrecorded_lesson";
    public const string TestDay = "test_day";
    public const string TheoryEnds = "theory_certificate";
    public const string LicenceCheck = "licence_check";
    public const string FailedMessage = "failed_message";

    private const int DaysAhead = 30;
    private static readonly LocalDatePattern Day = LocalDatePattern.CreateWithInvariantCulture("d MMMM uuuu");

    public async Task<IReadOnlyList<AttentionItem>> AttentionAsync(CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        var today = clock.GetCurrentInstant().InZone(facts.Zone).Date;
        var cars = (await carPark.ReadAsync(facts.Zone, alsoRetired: false, cancel)).Cars;
        var teachers = await instructors.ListAsync(alsoRetired: false, cancel);
        return
        [
            .. cars.SelectMany(Papers).Concat(teachers.Select(Paper)).Where(p => p.Date <= today.PlusDays(DaysAhead)).OrderBy(p => p.Date)
                .Select(p => new AttentionItem(p.Kind, $"{p.What} {Runs(p.Date, today)}", p.Href, p.Date)),
            .. from lesson in await check.FindAsync(null, cancel)
               select new AttentionItem(
                   ImpossibleLesson,
                   $"{lesson.PupilName} with {lesson.InstructorName}, {facts.Moment(lesson.StartsAt)}: {lesson.Refusal.Sentence}",
                   LessonLinks.Of(lesson.LessonId),
                   lesson.StartsAt.InZone(facts.Zone).Date),
            .. await UnrecordedAsync(facts, teachers, cancel),
            .. from card in await tests.ComingAsync(null, Viewer.Service, cancel)
               where card.Warnings.Count > 0
               select new AttentionItem(
                   TestDay,
                   $"Test of {card.Pupil.Name}, {facts.Moment(card.Test.StartsAt)}: {string.Join(" ", card.Warnings.Select(w => w.Sentence))}",
                   TestDayWords.Address(card.Test.Id),
                   card.Test.StartsAt.InZone(facts.Zone).Date),
            .. await PupilPapersAsync(today, cancel),
            .. from message in await messages.FailedAsync(cancel)
               select new AttentionItem(
                   FailedMessage,
                   $"“{message.Subject}” to {message.ToName} was not sent: {message.Reason} Put right what is wrong, then send it again.",
                   $"/messages/{message.Id}",
                   message.At.InZone(facts.Zone).Date),
        ];
    }

    /// <summary>Theory certificates about to end and driving records to look at again; a test that comes too late is with the test days.</summary>
    private async Task<IEnumerable<AttentionItem>> PupilPapersAsync(LocalDate today, CancellationToken cancel)
    {
        var learners = await pupils.ListAsync(Viewer.Service, cancel);
        var passed = await db.Set<TestDay>().AsNoTracking().Where(t => t.State == TestDayState.Passed).Select(t => t.PupilId).ToHashSetAsync(cancel);
        return learners.Where(pupil => !passed.Contains(pupil.Id)).SelectMany(pupil => Papers(pupil, today)).OrderBy(item => item.Since);
    }

    private static IEnumerable<AttentionItem> Papers(PupilCard pupil, LocalDate today)
    {
        var href = $"/pupils/{pupil.Id}/papers";
        if (pupil.TheoryPassedOn is { } passedOn && TheoryCertificate.LastDay(passedOn) is var last && last >= today && last <= today.PlusDays(DaysAhead))
        {
            yield return new(
                TheoryEnds, $"{pupil.Name}: the theory certificate counts until {Day.Format(last)}. Without a test passed by then, theory is taken again.", href, last);
        }

        if (pupil.LicenceCheckedOn is { } seen && PupilPapers.LicenceCheckDue(seen) is var due && due <= today)
        {
            yield return new(LicenceCheck, $"{pupil.Name}: look at the driving record again; the last time was {Day.Format(seen)}.", href, due);
        }
    }

    private static IEnumerable<(string Kind, string What, LocalDate Date, string Href)> Papers(CarCard car)
    {
        var name = $"The {car.Label} ({car.Plate})";
        var href = $"/cars/{car.Id}";
        // Until its first MOT a car needs none; from that day on it does.
        yield return car.Facts.MotExpires is { } mot
            ? (CarPaper, $"{name}: the MOT", mot, href)
            : (CarPaper, $"{name}: the time before its first MOT", car.Facts.MotNeededFrom.PlusDays(-1), href);
        if (car.Facts.TaxExpires is { } tax)
        {
            yield return (CarPaper, $"{name}: vehicle tax", tax, href);
        }

        if (car.Facts.InsuranceExpires is { } insurance)
        {
            yield return (CarPaper, $"{name}: insurance", insurance, href);
        }

        if (car.Facts.ServiceDue is { } service)
        {
            yield return (CarPaper, $"{name}: the time to its service", service, href);
        }
    }

    private static (string Kind, string What, LocalDate Date, string Href) Paper(InstructorCard card) =>
        (Registration, $"{card.Name}'s {(card.Facts.Kind == School.Core.Diary.RegistrationKind.Trainee ? "trainee licence" : "registration")}",
            card.Facts.RegisteredTo, $"/people/instructors/{card.Id}");

    private static string Runs(LocalDate date, LocalDate today) =>
        date < today ? $"ran out on {Day.Format(date)}. No lessons can be booked with it until it is renewed."
        : date == today ? "runs out today. Renew it, then enter the new date."
        : $"runs out on {Day.Format(date)}. Renew it, then enter the new date.";

    private async Task<IEnumerable<AttentionItem>> UnrecordedAsync(SchoolFacts facts, IReadOnlyList<InstructorCard> teachers, CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        var rows = await db.Set<Lesson>().AsNoTracking().Where(l => l.State == LessonState.Booked && l.EndsAt <= now).OrderBy(l => l.StartsAt)
            .Select(l => new { l.Id, l.PupilId, l.InstructorId, l.StartsAt }).ToListAsync(cancel);
        var names = await pupils.CardsAsync(rows.Select(l => l.PupilId), cancel);
        var byId = teachers.ToDictionary(t => t.Id, t => t.Name);
        return rows.Select(l => new AttentionItem(
            UnrecordedLesson,
            $"{names[l.PupilId].Name} with {byId.GetValueOrDefault(l.InstructorId, "an instructor who has left")}, {facts.Moment(l.StartsAt)}: record what was taught, or that the pupil was not there.",
            LessonPages.Record(l.Id),
            l.StartsAt.InZone(facts.Zone).Date));
    }
}
