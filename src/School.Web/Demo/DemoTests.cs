using NodaTime;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Demo;

/// <summary>A handful of test days: some past with their results, two ahead with instructor and car, one that a pupil entered.</summary>
internal sealed class DemoTests(IServiceProvider services, DemoClock clock, Instant now, DateTimeZone zone)
{
    // Pupils with a test ahead; the last entered it without the school.
    private const int First = 1, Second = 16, Own = 9;

    private static readonly LocalTime[] Times = [new(10, 14), new(8, 10), new(13, 35), new(9, 7), new(11, 11), new(14, 32), new(15, 29), new(12, 38)];

    private static readonly (int Pupil, int WeeksAgo, TestResultRequest Result)[] Taken =
    [
        (5, 7, new(true, 4, 0, 0, [new("21-observation", 2), new("18", 1), new("12-steering", 1)])),
        (14, 5, new(false, 9, 1, 0, [new("21-observation", 3, 1), new("14-change-direction", 4), new("23-lane-discipline", 2)], EtaVerbal: 1)),
        (26, 3, new(true, 11, 0, 0)),
        (35, 2, new(false, 3, 0, 1, Note: "Roundabout at the ring road: entered in front of a van. Two lessons there first.")),
    ];

    private readonly LocalDate _today = now.InZone(zone).Date;

    /// <summary>How many weeks ago the pupil passed; null where they did not.</summary>
    public static int? PassedWeeksAgo(int pupil) =>
        Array.Find(Taken, test => test.Pupil == pupil) is { Result.Passed: true } taken ? taken.WeeksAgo : null;

    public static bool HasTest(int pupil) => pupil is First or Second or Own || Array.Exists(Taken, test => test.Pupil == pupil);

    public async Task FillAsync(IReadOnlyList<DemoPupil> pupils)
    {
        clock.Now = now - Duration.FromMinutes(30);
        foreach (var (number, weeks, result) in Taken)
        {
            await EnterAsync(pupils[number], _today.PlusWeeks(-weeks), days: 12, Viewer.Service, withSchool: false, result);
        }

        await EnterAsync(pupils[First], _today.PlusDays(19), days: 20, Viewer.Service, withSchool: true);
        await EnterAsync(pupils[Second], _today.PlusDays(8), days: 20, Viewer.Service, withSchool: true);
        var own = pupils[Own].Pupil;
        await EnterAsync(pupils[Own], _today.PlusDays(33), days: 20, new(own.Id, OfficeParts.None, null, own.Id, own.Name), withSchool: false);
    }

    /// <summary>Tries days and times one after the other until the diary has room.</summary>
    private async Task EnterAsync(DemoPupil pupil, LocalDate from, int days, Viewer viewer, bool withSchool, TestResultRequest? result = null)
    {
        var car = withSchool ? await CarOfAsync(pupil) : null;
        for (var n = 0; n < days * Times.Length; n++)
        {
            var start = (from.PlusDays(n / Times.Length * (result is null ? 1 : -1)) + Times[(n + pupil.Number) % Times.Length]).InZoneLeniently(zone).ToInstant();
            var outcome = await DemoVerbs.TryAsync<EnterTestDay, TestDay>(services, viewer, (verb, cancel) => verb.RunAsync(
                viewer,
                new(
                    pupil.Pupil.Id, start, PlaceInput.Of(Larkfield.TestCentre), "england-and-wales", $"{41_000_000 + (pupil.Number * 7919)}",
                    InstructorId: withSchool ? pupil.Instructor.Id : null, CarId: car, InsuredForTest: withSchool && pupil.Number == First)
                { Result = result },
                cancel));
            if (outcome.Ok)
            {
                return;
            }
        }
    }

    private async Task<Guid?> CarOfAsync(DemoPupil pupil)
    {
        var all = await DemoVerbs.DoAsync<CarPark, CarsAndHolds>(
            services, Viewer.Service, async (park, cancel) => (Outcome<CarsAndHolds>)await park.ReadAsync(zone, alsoRetired: false, cancel));
        return all.Holds.Where(h => h.InstructorId == pupil.Instructor.Id).Select(h => (Guid?)h.CarId)
            .FirstOrDefault(id => all.Cars.First(c => c.Id == id).Facts.Gearbox == pupil.Pupil.Gearbox);
    }
}
