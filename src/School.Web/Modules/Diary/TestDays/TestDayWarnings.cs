using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core;
using School.Core.Cars;
using School.Core.Diary;
using School.Core.Diary.Order;
using School.Core.Diary.Slots;
using School.Core.Diary.TestDays;
using School.Core.Diary.Time;
using School.Core.Pupils;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.Diary.Day;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.TestDays;

/// <summary>Something about a test day that should be looked at before it comes.</summary>
/// <param name="Code">Stable code for programs.</param>
/// <param name="Telling">What it is and what to do.</param>
/// <param name="ForStaff">Whether it is the school's business rather than the pupil's.</param>
internal sealed record TestDayWarning(string Code, Telling Telling, bool ForStaff = true)
{
    /// <summary>Whether it tells of the pupil's papers.</summary>
    public bool OfPapers => Code is "no_provisional_licence" or "theory_missing" or "theory_ends_before_test";
}

/// <summary>What the program knows about a test day that would spoil it.</summary>
internal sealed class TestDayWarnings(SchoolDb db, PictureLoader pictures, TestDayDates dates, SchoolInfo school, IClock clock)
{
    /// <summary>By test day; none for those that are no longer ahead. One reading of the diary serves them all.</summary>
    public async Task<IReadOnlyDictionary<Guid, IReadOnlyList<TestDayWarning>>> OfAsync(
        IEnumerable<TestDay> tests, IReadOnlyDictionary<Guid, PupilCard> pupils, CancellationToken cancel)
    {
        var open = tests.Where(t => t.State is TestDayState.Booked).ToList();
        var warnings = new Dictionary<Guid, IReadOnlyList<TestDayWarning>>();
        if (open.Count == 0)
        {
            return warnings;
        }

        var facts = await school.GetAsync(cancel);
        var loaded = await pictures.AroundAsync(open, cancel);
        var others = await OthersAsync([.. open.Select(t => t.PupilId).Distinct()], cancel);
        var toFind = await ToFindAsync(loaded, cancel);
        foreach (var test in open)
        {
            var about = new About(test, pupils[test.PupilId], test.StartsAt.InZone(facts.Zone).Date, facts, loaded, toFind);
            var holiday = await dates.IsHolidayAsync(test.Nation, about.Date, cancel);
            warnings[test.Id] = [.. OfDay(about, holiday), .. OfOthers(about, others[test.PupilId]), .. OfPupil(about, others[test.PupilId]), .. OfCar(about), .. OfInstructor(about), .. OfDrives(about)];
        }

        return warnings;
    }

    /// <summary>Tests of the same pupils that are ahead or were passed.</summary>
    private async Task<ILookup<Guid, Other>> OthersAsync(IReadOnlyCollection<Guid> pupilIds, CancellationToken cancel) =>
        (await db.Set<TestDay>().AsNoTracking()
            .Where(t => pupilIds.Contains(t.PupilId) && (t.State == TestDayState.Booked || t.State == TestDayState.Passed))
            .OrderBy(t => t.StartsAt).ThenBy(t => t.Id).Select(t => new Other(t.Id, t.PupilId, t.StartsAt, t.State == TestDayState.Passed, t.Gearbox)).ToListAsync(cancel))
        .ToLookup(t => t.PupilId);

    /// <summary>Entries of the days that begin or end at a place still to be found: its name at each end, null where that is found.</summary>
    private async Task<IReadOnlyDictionary<Guid, Ends>> ToFindAsync(LoadedPicture loaded, CancellationToken cancel)
    {
        var entries = loaded.Picture.Instructors.SelectMany(diary => diary.Entries).ToLookup(entry => entry.Kind == EntryKind.Test, entry => entry.Id);
        var (lessonIds, testIds) = (entries[false].ToArray(), entries[true].ToArray());
        var together = new ReadTogether(db);
        var lessons = together.Ask(db.Set<Lesson>().AsNoTracking().ToBeFound().Where(l => lessonIds.Contains(l.Id)));
        var tests = together.Ask(db.Set<TestDay>().AsNoTracking().Where(
            t => testIds.Contains(t.Id) && (t.PickUp.Certainty == PlaceCertainty.ToBeFound || t.Centre.Certainty == PlaceCertainty.ToBeFound)));
        await together.RunAsync(cancel);
        return lessons.All.Select(l => (l.Id, Ends: new Ends(Open(l.PickUp), Open(l.DropOff))))
            .Concat(tests.All.Select(t => (t.Id, Ends: new Ends(Open(t.PickUp), Open(t.EndsAtPickUp ? t.PickUp : t.Centre)))))
            .ToDictionary(one => one.Id, one => one.Ends);

        static string? Open(Place place) => place.IsFound ? null : place.Label;
    }

    private static IEnumerable<TestDayWarning> OfOthers(About about, IEnumerable<Other> others)
    {
        foreach (var other in others.Where(other => other.Id != about.Test.Id))
        {
            var when = about.School.Moment(other.StartsAt);
            if (!other.Passed)
            {
                yield return new("two_tests", new(
                    $"Another test of this pupil is in the diary: {when}. Take off the one that is not booked any more.",
                    $"Another test of yours is in the diary: {when}. Take off the one that is not booked any more."), ForStaff: false);
            }
            else if (other.Gearbox == Gearbox.Manual || about.Test.Gearbox == Gearbox.Automatic)
            {
                // Who passed in an automatic may still take a test in a manual car.
                yield return new("passed_already", new(
                    $"The pupil has passed already: {when}. Take this test off, or look whether it is another pupil’s.",
                    $"You have passed already: {when}. Take this test off, or look at the date."), ForStaff: false);
            }
        }
    }

    private IEnumerable<TestDayWarning> OfDay(About about, bool holiday)
    {
        if (about.Test.StartsAt <= clock.GetCurrentInstant())
        {
            yield return new("no_result", "The test has begun or is over. Record its result once it is known.", ForStaff: false);
        }

        if (!PracticalTest.IsUsualOn(about.Date))
        {
            yield return new(
                "sunday", $"{ScreenWords.DayAndYear(about.Date)} is a Sunday. Tests are held on some Sundays: look at the date in the confirmation once more.", ForStaff: false);
        }

        if (holiday)
        {
            yield return new("bank_holiday", $"{ScreenWords.DayAndYear(about.Date)} is a bank holiday there. Look at the date in the confirmation once more.", ForStaff: false);
        }
    }

    private static IEnumerable<TestDayWarning> OfPupil(About about, IEnumerable<Other> others)
    {
        if (!about.Pupil.Learner(about.Date).StandingOn(about.Date).MayDrive() || (about.Pupil.Licence!.Kind == LicenceKind.Foreign && about.Pupil.Licence.Beside?.HoldsOn(about.Date) != true))
        {
            yield return new("no_provisional_licence", new("No provisional licence valid on that day is recorded. Without it no test is taken.",
                "The school has not seen a provisional licence of yours that is valid on that day. Without it no test is taken."), ForStaff: false);
        }

        if (!Licence.NeedsTheory(about.Pupil.Licence)
            || others.Any(other => other.Passed && other.Id != about.Test.Id && Licence.PassStands(about.Pupil.Licence, other.StartsAt.InZone(about.School.Zone).Date)))
        {
            // Who passed in an automatic and goes on to a manual takes no theory test again, whatever card they carry.
        }
        else if (about.Pupil.TheoryPassedOn is not { } passed)
        {
            yield return new("theory_missing", new("No theory certificate is recorded. It comes before a practical test: enter the day it was passed.",
                "The school has not seen your theory certificate. It comes before a practical test: show it to your instructor."), ForStaff: false);
        }
        else if (TheoryCertificate.LastDay(passed) is var last && last < about.Date)
        {
            yield return new(
                "theory_ends_before_test",
                $"The theory certificate counts until {ScreenWords.DayAndYear(last)}, before this test. An earlier test is needed, or a new theory test; the day on the certificate decides.",
                ForStaff: false);
        }

        if (about.Test.Gearbox != about.Pupil.Gearbox)
        {
            yield return new("other_gearbox", new($"The test is in {Article(about.Test)} car, and the pupil learns in the other kind. See that this is meant.",
                $"The test is in {Article(about.Test)} car, and you learn in the other kind. See that this is meant."), ForStaff: false);
        }
    }

    private static IEnumerable<TestDayWarning> OfCar(About about)
    {
        var test = about.Test;
        if (test.CarId is not { } carId)
        {
            if (!test.OwnCar)
            {
                yield return new("car_not_settled", "No car goes along yet. Choose one, or say that the pupil drives another than the school’s.");
            }

            yield break;
        }

        var car = about.Loaded.Cars[carId];
        foreach (var rule in TestCar.Broken(car.Facts, about.Date, test.Blocked))
        {
            yield return new($"car_{rule.Code}", $"The {car.Label} ({car.Plate}) {rule.Words}. Put it right or choose another car.");
        }

        if (car.RetiredOn is not null)
        {
            yield return new("car_retired", $"The {car.Label} is retired. Choose another car.");
        }

        if (test.InsuredSeenOn is null)
        {
            yield return new("insurance_not_seen", $"Nobody has ticked that the {car.Label} is insured for a driving test. Look at the policy, then tick it.");
        }

        if (test.InstructorId is { } instructor && about.Loaded.DiaryOf(instructor) is { } diary
            && !diary.Holds.Any(h => h.CarId == carId && h.During.Contains(test.BlockedFrom) && (!h.During.HasEnd || h.During.End >= test.BlockedUntil)))
        {
            yield return new("car_elsewhere", $"The {car.Label} is not with {about.Loaded.Instructors[instructor].Name} on that day. Hand it over, or choose another car.");
        }
    }

    private static IEnumerable<TestDayWarning> OfInstructor(About about)
    {
        if (about.Test.InstructorId is not { } id || !about.Loaded.Instructors.TryGetValue(id, out var instructor))
        {
            yield break;
        }

        if (instructor.RetiredOn is not null)
        {
            yield return new("instructor_left", $"{instructor.Name} no longer teaches here. Choose another instructor.");
        }

        if (about.Loaded.DiaryOf(id)!.TimeOff.Any(off => off.Start < about.Test.BlockedUntil && off.End > about.Test.BlockedFrom))
        {
            yield return new("instructor_off", $"{instructor.Name} is off at that time. Change the time off, or choose another instructor.");
        }
    }

    /// <summary>The drives of the day that the test makes tight, and those within the time kept around it.</summary>
    private static IEnumerable<TestDayWarning> OfDrives(About about)
    {
        var (test, picture, travel) = (about.Test, about.Loaded.Picture, about.Loaded.Travel);
        if (new[] { test.PickUp, test.Centre }.FirstOrDefault(place => !place.IsFound) is { } open)
        {
            yield return new("place_to_find", $"Where {open.Label} is, is still to be found, so no drive of this test is told. Say where it is.");
            yield break;
        }

        var there = travel.Between(test.PickUp.At(), test.Centre.At(), test.BlockedFrom.InZone(about.School.Zone).LocalDateTime).Minutes;
        if (there > test.LeadMinutes)
        {
            yield return new("lead_too_short", $"The drive from {test.PickUp.Label} to {test.Centre.Label} takes {there} minutes, and {test.LeadMinutes} are kept before the test.");
        }

        var back = travel.Between(test.Centre.At(), test.PickUp.At(), test.EndsAt.InZone(about.School.Zone).LocalDateTime).Minutes;
        if (test.EndsAtPickUp && back > test.TailMinutes)
        {
            yield return new("tail_too_short", $"The drive back to {test.PickUp.Label} takes {back} minutes, and {test.TailMinutes} are kept after the test.");
        }

        if (test.InstructorId is not { } id || about.Loaded.DiaryOf(id) is not { } diary)
        {
            yield break;
        }

        var route = DayRoute.Build(picture.Rules, picture.Zone, diary, test.BlockedFrom.InZone(picture.Zone).Date, travel);
        var at = route.Stops.ToList().FindIndex(stop => stop.Entry.Id == test.Id);
        foreach (var (stop, words) in new[] { (at, "to the pick-up before the test"), (at + 1, "to the lesson after the test") })
        {
            if (at >= 0 && stop > 0 && stop < route.Stops.Count && PlaceToFind(about, route, at, stop) is { } beside)
            {
                yield return new("place_to_find", $"Where {beside} is, is still to be found, so the drive {words} is not told. Say where it is.");
            }
            else if (at >= 0 && stop > 0 && stop < route.Stops.Count && route.Stops[stop].SlackMinutes < picture.Rules.BufferMinutes)
            {
                var leg = route.Stops[stop].Leg.Minutes;
                yield return new(
                    "drive_too_tight", $"The drive {words} takes {leg} minutes, and there are {Math.Max(0, leg + route.Stops[stop].SlackMinutes)}. Move a lesson, or change the time kept.");
            }
        }
    }

    /// <summary>Where the neighbour of a test is still to be found at the end that the drive to or from the test leads to.</summary>
    private static string? PlaceToFind(About about, DayRoute route, int test, int stop) =>
        about.ToFind.GetValueOrDefault(route.Stops[stop == test ? stop - 1 : stop].Entry.Id) is { } ends ? stop == test ? ends.Last : ends.First : null;

    private static string Article(TestDay test) => test.Gearbox == Gearbox.Manual ? "a manual" : "an automatic";

    private sealed record Other(Guid Id, Guid PupilId, Instant StartsAt, bool Passed, Gearbox Gearbox);

    private sealed record About(TestDay Test, PupilCard Pupil, LocalDate Date, SchoolFacts School, LoadedPicture Loaded, IReadOnlyDictionary<Guid, Ends> ToFind);

    private sealed record Ends(string? First, string? Last);
}
