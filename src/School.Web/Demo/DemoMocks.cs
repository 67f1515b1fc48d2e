using NodaTime;
using School.Core.Syllabus.Mocks;
using School.Web.Modules.Pupils;
using School.Web.Modules.Syllabus.Mocks;
using School.Web.Platform.Access;

namespace School.Web.Demo;

/// <summary>Theory certificates and licence checks of most pupils, one of each in trouble, and mock tests of those near a test.</summary>
internal sealed class DemoMocks(IServiceProvider services, DemoClock clock, Instant now, DateTimeZone zone)
{
    private readonly LocalDate _today = now.InZone(zone).Date;

    public async Task FillAsync(IReadOnlyList<DemoPupil> pupils)
    {
        clock.Now = now - Duration.FromMinutes(20);
        foreach (var pupil in pupils)
        {
            await DemoVerbs.DoAsync<ChangePapers, Pupil>(
                services, Viewer.Service, (verb, cancel) => verb.RunAsync(Viewer.Service, pupil.Pupil.Id, new(TheoryOf(pupil.Number), CheckOf(pupil.Number)), null, cancel));
        }

        (int Pupil, int DaysAgo, string Note, (string Heading, FaultKind Kind, int Times)[] Faults)[] driven =
        [
            (0, 15, "Good control. Twice out of a side road too early: two lessons on that first.",
                [("21-observation", FaultKind.Driving, 2), ("21-observation", FaultKind.Serious, 1), ("14-change-direction", FaultKind.Driving, 4), ("18", FaultKind.Driving, 2)]),
            (1, 31, "Nerves at first, then steady.",
                [("13-safety", FaultKind.Serious, 1), ("14-change-direction", FaultKind.Driving, 6), ("12-steering", FaultKind.Driving, 3), ("21-turning-right", FaultKind.Driving, 2), ("7", FaultKind.Driving, 2)]),
            (1, 9, "Ready for the day, as long as the mirrors come every time.", [("14-change-direction", FaultKind.Driving, 3), ("20-undue-hesitation", FaultKind.Driving, 2), ("25", FaultKind.Driving, 1)]),
            (9, 12, "", [("23-normal-driving", FaultKind.Driving, 5), ("17-traffic-signs", FaultKind.Driving, 3), ("5-control", FaultKind.Driving, 4), ("18", FaultKind.Driving, 5)]),
            (14, 44, "Waits too long for gaps, then takes a small one.", [("20-undue-hesitation", FaultKind.Driving, 4), ("21-observation", FaultKind.Driving, 3), ("22-crossing", FaultKind.Serious, 1)]),
        ];
        foreach (var (number, daysAgo, note, faults) in driven)
        {
            var (pupil, teacher) = (pupils[number], pupils[number].Instructor);
            var viewer = new Viewer(teacher.Id, Role.Instructor, teacher.Id, null, teacher.Name);
            var bodies = faults.SelectMany(fault => Enumerable.Repeat(new MockFaultBody(fault.Heading, fault.Kind), fault.Times)).ToList();
            await DemoVerbs.DoAsync<AddMockTest, MockTest>(
                services, viewer, (verb, cancel) => verb.RunAsync(viewer, pupil.Pupil.Id, new(_today.PlusDays(-daysAgo), null, bodies, Note: note, Finished: true), cancel));
        }
    }

    /// <summary>Some have not passed it yet; that of one ends before the test.</summary>
    private LocalDate? TheoryOf(int number) => number switch
    {
        16 => _today.PlusYears(-2).PlusDays(5),
        _ when number % 6 == 4 => null,
        _ => _today.PlusDays(-85 - (12 * number)),
    };

    /// <summary>One is due again.</summary>
    private LocalDate CheckOf(int number) => number == 2 ? _today.PlusMonths(-7) : _today.PlusDays(-20 - (3 * number));
}
