using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Cars;
using School.Core.Diary.TestDays;
using School.Core.Diary.Time;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Diary.Settings;
using School.Web.Modules.Diary.Waiting;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Diary.TestDays;

/// <summary>
/// Enters a test day, or changes one. What a pupil enters keeps only their own time free; who goes along in which car is the
/// school's to say. Nothing is asked of the official booking service.
/// </summary>
internal sealed class SaveTestDay(
    SchoolDb db, TestDayAccess access, TestDayDates dates, TestDayClashes clashes, TestDayHistory history, TestDayMail mail, PupilBook pupils,
    InstructorBook instructors, CarPark carPark, PictureLoader pictures, LessonLocks locks, FreedSlots freed, SchoolInfo school, IClock clock)
{
    private static readonly Duration FurthestAhead = Duration.FromDays(800);
    private static readonly Duration FurthestBack = Duration.FromDays(3660);

    public async Task<Outcome<TestDay>> EnterAsync(Viewer viewer, TestDayRequest request, CancellationToken cancel)
    {
        if (await pupils.FindAsync(request.PupilId, viewer, cancel) is not { } pupil || !TestDayAccess.MayEnterFor(viewer, pupil, request.InstructorId))
        {
            return Refusal.NotFound("pupil");
        }

        if (pupil.RetiredOn is not null)
        {
            return PupilRefusals.Left;
        }

        var over = request.Start <= clock.GetCurrentInstant();
        if (over && request.Result is null)
        {
            return At(nameof(request.Start), "test_in_past", "This time has passed. A test that has been taken is entered together with its result; else look at the date.");
        }

        if (!over && request.Result is not null)
        {
            return At(nameof(request.Start), "test_not_taken", "This test is still to come, so there is no result yet. Look at the date.");
        }

        var result = request.Result?.Read($"{nameof(request.Result)}.");
        if (result is { Ok: false })
        {
            return result.Refusal;
        }

        var read = await ReadAsync(request, pupil, null, over, viewer, cancel);
        if (!read.Ok)
        {
            return read.Refusal;
        }

        return await db.InTransactionAsync<TestDay>(
            async cancel =>
            {
                await LockAsync(pupil.Id, read.Value, cancel);
                var row = TestDay.Enter(pupil.Id, read.Value, clock.GetCurrentInstant());
                row.InsuredSeenOn = await SeenAsync(request, row, viewer, cancel);
                if (await clashes.FindAsync(row, cancel) is { } taken)
                {
                    return taken;
                }

                db.Add(row);
                history.Note(row, $"Entered: {await InWordsAsync(row, cancel)}.", viewer);
                if (result is { Value: { } known })
                {
                    row.Record(known.Passed, known.Sum, known.Marks, known.EtaVerbal, known.EtaPhysical, known.Note);
                    history.Note(row, $"Result: {(known.Passed ? "passed" : "failed")}, {TestResultReading.Words(known.Sum)}.", viewer);
                }

                await mail.EnteredAsync(row, viewer, cancel);
                return row;
            },
            cancel);
    }

    public async Task<Outcome<TestDay>> ChangeAsync(Viewer viewer, Guid id, TestDayRequest request, int? expected, CancellationToken cancel)
    {
        var visible = await access.VisibleAsync(viewer, cancel);
        if (await visible.AsNoTracking().SingleOrDefaultAsync(t => t.Id == id, cancel) is not { } before
            || await pupils.FindAsync(before.PupilId, viewer, cancel) is not { } pupil)
        {
            return Refusal.NotFound("test day");
        }

        if (request.PupilId != before.PupilId)
        {
            return Refusal.Invalid(nameof(request.PupilId), "A test day stays with its pupil. Take this one off and enter one for the other pupil.");
        }

        if (request.Result is not null)
        {
            return Refusal.Invalid(nameof(request.Result), "The result has an address of its own.");
        }

        if (before.NotOpen("changed") is { } closed)
        {
            return closed;
        }

        if (request.Start <= clock.GetCurrentInstant() && request.Start != before.StartsAt)
        {
            return At(nameof(request.Start), "test_in_past", "This time has passed. Look at the date.");
        }

        var read = await ReadAsync(request, pupil, before, request.Start == before.StartsAt, viewer, cancel);
        if (!read.Ok)
        {
            return read.Refusal;
        }

        return await db.InTransactionAsync<TestDay>(
            async cancel =>
            {
                await LockAsync(pupil.Id, read.Value, cancel);
                // What was read of the request rests on the day as it stood then.
                var found = await visible.TakeAsync(id, expected ?? before.Version, "test day", cancel);
                if (found is not { Value: { } row })
                {
                    return found;
                }

                var (former, from, blocked) = (row.InstructorId, row.During, row.Blocked);
                var told = row.Change(read.Value, clock.GetCurrentInstant());
                row.InsuredSeenOn = viewer.IsOffice && !request.InsuredForTest ? null : row.InsuredSeenOn ?? await SeenAsync(request, row, viewer, cancel);
                if (told && await clashes.FindAsync(row, cancel) is { } taken)
                {
                    return taken;
                }

                history.Note(row, $"Changed: {await InWordsAsync(row, cancel)}.", viewer);
                if (told)
                {
                    await freed.NoteTestAsync(row.PupilId, former, blocked, row.InstructorId == former ? row.Blocked : null, cancel);
                    await mail.ChangedAsync(row, from, former, viewer, cancel);
                }

                return row;
            },
            cancel);
    }

    /// <summary>What was sent, checked; with what a pupil has no say in left as it was, or open where the time is another.</summary>
    private async Task<Outcome<TestDayFacts>> ReadAsync(
        TestDayRequest request, PupilCard pupil, TestDay? before, bool mayBePast, Viewer viewer, CancellationToken cancel)
    {
        var (facts, now, settings) = (await school.GetAsync(cancel), clock.GetCurrentInstant(), await dates.SettingsAsync(cancel));
        var errors = new FieldErrors()
            .When(request.Start.ToUnixTimeTicks() % NodaConstants.TicksPerMinute != 0, nameof(request.Start), "A test starts on a whole minute.")
            .When(request.Start > now + FurthestAhead || request.Start < now - FurthestBack, nameof(request.Start), "That is too far from today. Look at the year.")
            .When(request.LeadMinutes is < 0 or > TestDay.MostAround, nameof(request.LeadMinutes), $"From 0 to {TestDay.MostAround} minutes.")
            .When(request.TailMinutes is < 0 or > TestDay.MostAround, nameof(request.TailMinutes), $"From 0 to {TestDay.MostAround} minutes.")
            .When(request.OwnCar && request.CarId is not null, nameof(request.CarId), "Choose one of the school’s cars, or say that the pupil drives another; not both.");
        var nation = ReadNation(errors, request.Nation);
        var centre = errors.ReadPlace(nameof(request.Centre), request.Centre);
        var reference = errors.ReadLine(nameof(request.Reference), request.Reference, TestDay.LongestReference);
        if (errors.ToRefusal() is { } invalid)
        {
            return invalid;
        }

        var date = request.Start.InZone(facts.Zone).Date;
        if (!PracticalTest.IsHeldOn(date))
        {
            return At(nameof(request.Start), "test_on_sunday", "No tests are held on a Sunday. Look at the date in the confirmation.");
        }

        var rules = await pictures.RulesAsync(cancel);
        var oldEnough = PracticalTest.OldEnoughFrom(pupil.Facts([]), rules);
        if (date < oldEnough)
        {
            return At(nameof(request.Start), "pupil_too_young", $"The pupil is too young for a test on that day. They are old enough from {Platform.Layout.ScreenWords.DayAndYear(oldEnough)}.");
        }

        var gearbox = request.Gearbox ?? before?.Gearbox ?? pupil.Gearbox;
        var (instructorId, carId, ownCar) = !viewer.IsStaff
            ? before is not null && before.StartsAt == request.Start ? (before.InstructorId, before.CarId, before.OwnCar) : (null, null, before?.OwnCar ?? request.OwnCar)
            : (request.InstructorId, request.CarId, request.OwnCar);
        if (await WrongCompanyAsync(instructorId, carId, gearbox, before, viewer, cancel) is { } wrong)
        {
            return wrong;
        }

        // Of a test that is over the diary tells already what else there was; only the appointment itself is kept.
        var past = mayBePast && before is null;
        return new TestDayFacts(
            request.Start, Duration.FromMinutes(before is null ? settings.TestMinutes : (before.EndsAt - before.StartsAt).TotalMinutes),
            request.LeadMinutes ?? before?.LeadMinutes ?? (past ? 0 : settings.LeadMinutes), request.TailMinutes ?? before?.TailMinutes ?? (past ? 0 : settings.TailMinutes),
            centre!, nation!.Value, pupil.PickUp, request.EndsAtPickUp, reference, gearbox, instructorId, carId, ownCar);
    }

    private async Task<Refusal?> WrongCompanyAsync(
        Guid? instructorId, Guid? carId, Gearbox gearbox, TestDay? before, Viewer viewer, CancellationToken cancel)
    {
        if (instructorId is { } id && id != before?.InstructorId
            && (!viewer.MayBookWith(id) || await instructors.FindAsync(id, cancel) is not { RetiredOn: null }))
        {
            return Refusal.Invalid(nameof(TestDayRequest.InstructorId), "Choose an instructor who teaches here; an instructor enters only themselves.");
        }

        if (carId is not { } wanted)
        {
            return null;
        }

        var car = (await carPark.ReadAsync((await school.GetAsync(cancel)).Zone, alsoRetired: true, cancel)).Cars.FirstOrDefault(c => c.Id == wanted);
        return car is null || (car.RetiredOn is not null && wanted != before?.CarId) ? Refusal.Invalid(nameof(TestDayRequest.CarId), "Choose one of the school’s cars.")
            : car.Facts.Gearbox != gearbox ? At(
                nameof(TestDayRequest.CarId), "gearbox_mismatch",
                $"The {car.Label} is {car.Facts.Gearbox.Words().ToLowerInvariant()} and the test is in {(gearbox == Gearbox.Manual ? "a manual" : "an automatic")}. Choose another car, or put the gearbox right.")
            : null;
    }

    private static Nation? ReadNation(FieldErrors errors, string? slug)
    {
        const string Choose = "Choose where the centre is: england-and-wales or scotland.";
        if (NationSlugs.Find(slug ?? "") is not { } nation)
        {
            errors.Add(nameof(TestDayRequest.Nation), Choose);
            return null;
        }

        errors.When(
            !PracticalTest.IsIn(nation), nameof(TestDayRequest.Nation),
            "Test days are kept for Great Britain only: Northern Ireland books and changes tests by rules of its own, and the notice counted here would be wrong there.");
        return nation;
    }

    /// <summary>Only the office ticks it, and a ticked one keeps the day on which it was seen.</summary>
    private async Task<LocalDate?> SeenAsync(TestDayRequest request, TestDay row, Viewer viewer, CancellationToken cancel) =>
        viewer.IsOffice && request.InsuredForTest && (row.CarId is not null || row.OwnCar) ? (await school.GetAsync(cancel)).Today(clock) : null;

    private async Task LockAsync(Guid pupilId, TestDayFacts test, CancellationToken cancel)
    {
        var zone = (await school.GetAsync(cancel)).Zone;
        IReadOnlyCollection<DiaryDay> days = test.InstructorId is { } instructor ? [new(instructor, test.StartsAt.InZone(zone).Date)] : [];
        await locks.TakeAsync(pupilId, days, test.CarId is { } car ? [car] : [], cancel);
    }

    private async Task<string> InWordsAsync(TestDay row, CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        var with = row.InstructorId is { } id ? $", with {(await instructors.FindAsync(id, cancel))!.Name}" : "";
        return $"{facts.Short(row.StartsAt)} at {row.Centre.Label}{with}";
    }

    internal static Refusal At(string field, string code, string sentence) =>
        Refusal.Rule(code, sentence) with { Fields = new Dictionary<string, string[]> { [field] = [sentence] } };
}
