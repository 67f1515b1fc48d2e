using NodaTime;
using School.Core.Cars;
using School.Core.Diary.TestDays;
using School.Core.Diary.Time;
using School.Core.Pupils;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Diary.Settings;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Places.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Diary.TestDays;

/// <summary>What entering and changing a test day have in common: what may be sent, what is locked, and how the history tells it.</summary>
internal sealed class TestDayRules(TestDayDates dates, PlaceFinder places, InstructorBook instructors, CarPark carPark, PictureLoader pictures, LessonLocks locks, SchoolInfo school, IClock clock)
{
    private static readonly Duration FurthestAhead = Duration.FromDays(800);
    private static readonly Duration FurthestBack = Duration.FromDays(3660);

    /// <summary>What was sent, checked; with what a pupil has no say in left as it was, or open where the time is another.</summary>
    public async Task<Outcome<TestDayFacts>> ReadAsync(
        TestDayRequest request, PupilCard pupil, TestDay? before, bool mayBePast, Viewer viewer, CancellationToken cancel)
    {
        var (facts, now, settings) = (await school.GetAsync(cancel), clock.GetCurrentInstant(), await dates.SettingsAsync(cancel));
        var errors = new FieldErrors()
            .When(request.Start.ToUnixTimeTicks() % NodaConstants.TicksPerMinute != 0, nameof(request.Start), "A test starts on a whole minute.")
            .When(request.Start > now + FurthestAhead || request.Start < now - FurthestBack, nameof(request.Start), "That is too far from today. Look at the year.")
            .When(request.LeadMinutes is < 0 or > TestDay.MostAround, nameof(request.LeadMinutes), $"From 0 to {TestDay.MostAround} minutes.")
            .When(request.TailMinutes is < 0 or > TestDay.MostAround, nameof(request.TailMinutes), $"From 0 to {TestDay.MostAround} minutes.")
            .When(
                request.Minutes is < SaveTestDaySettings.ShortestTest or > SaveTestDaySettings.LongestTest, nameof(request.Minutes),
                $"From {SaveTestDaySettings.ShortestTest} to {SaveTestDaySettings.LongestTest} minutes.")
            .When(request.OwnCar && request.CarId is not null, nameof(request.CarId), "Choose one of the school’s cars, or say that the pupil drives another; not both.");
        var nation = ReadNation(errors, request.Nation);
        var centre = errors.ReadPlace(nameof(request.Centre), await places.LookAsync(request.Centre, pupil.Id, viewer, cancel));
        errors.When(centre is { IsFound: false }, $"{nameof(request.Centre)}.{nameof(PlaceInput.ToBeFound)}", "A test centre is not left open. Enter its postcode or position.");
        var reference = errors.ReadLine(nameof(request.Reference), request.Reference, TestDay.LongestReference);
        if (errors.ToRefusal() is { } invalid)
        {
            return invalid;
        }

        // Of a test that is over only the appointment is kept: nobody is driven there any more.
        var past = mayBePast && before is null;
        if (!past && pupil.Missing != FirstLessonNeeds.None)
        {
            return new StillNeeded(pupil.Id, pupil.Missing).ToRefusal();
        }

        if (request.Gearbox is null && before is null && pupil.Missing.HasFlag(FirstLessonNeeds.Gearbox))
        {
            return Refusal.Invalid(nameof(request.Gearbox), "Say in which gearbox: it is not known of the pupil yet.");
        }

        var date = request.Start.InZone(facts.Zone).Date;
        var rules = await pictures.RulesAsync(cancel);
        var oldEnough = PracticalTest.OldEnoughFrom(pupil.Facts([]), rules);
        if (date < oldEnough)
        {
            return At(nameof(request.Start), "pupil_too_young", $"The pupil is too young for a test on that day. They are old enough from {Platform.Layout.ScreenWords.DayAndYear(oldEnough)}.");
        }

        var gearbox = request.Gearbox ?? before?.Gearbox ?? pupil.Gearbox;
        viewer = viewer.Towards(pupil.Id);
        var (instructorId, carId, ownCar) = !viewer.IsStaff
            ? before is not null && before.StartsAt == request.Start ? (before.InstructorId, before.CarId, before.OwnCar) : (null, null, before?.OwnCar ?? request.OwnCar)
            : (request.InstructorId, request.CarId, request.OwnCar);
        if (await WrongCompanyAsync(instructorId, carId, gearbox, before, viewer, cancel) is { } wrong)
        {
            return wrong;
        }

        // Of a test that is over the diary tells already what else there was.
        return new TestDayFacts(
            request.Start, Duration.FromMinutes(request.Minutes ?? (before?.Extended == request.Extended ? before.Minutes : settings.MinutesOf(request.Extended))),
            request.LeadMinutes ?? before?.LeadMinutes ?? (past ? 0 : settings.LeadMinutes), request.TailMinutes ?? before?.TailMinutes ?? (past ? 0 : settings.TailMinutes),
            centre!, nation!.Value, pupil.PickUp.IsKnown ? pupil.PickUp : centre!, request.EndsAtPickUp, reference, gearbox, instructorId, carId, ownCar,
            request.Extended);
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
    public async Task<LocalDate?> SeenAsync(TestDayRequest request, TestDay row, Viewer viewer, CancellationToken cancel) =>
        viewer.KeepsDiary && request.InsuredForTest && (row.CarId is not null || row.OwnCar) ? (await school.GetAsync(cancel)).Today(clock) : null;

    public async Task LockAsync(Guid pupilId, TestDayFacts test, CancellationToken cancel)
    {
        var zone = (await school.GetAsync(cancel)).Zone;
        IReadOnlyCollection<DiaryDay> days = test.InstructorId is { } instructor ? [new(instructor, test.StartsAt.InZone(zone).Date)] : [];
        await locks.TakeAsync(pupilId, days, test.CarId is { } car ? [car] : [], cancel);
    }

    public async Task<string> InWordsAsync(TestDay row, CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        var with = row.InstructorId is { } id ? $", with {(await instructors.FindAsync(id, cancel))!.Name}" : "";
        return $"{facts.Short(row.StartsAt)} at {row.Centre.Label}{with}";
    }

    public static Refusal At(string field, string code, string sentence) =>
        Refusal.Rule(code, sentence) with { Fields = new Dictionary<string, string[]> { [field] = [sentence] } };
}
