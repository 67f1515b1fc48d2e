using NodaTime;
using School.Core.Syllabus;
using School.Core.Syllabus.Mocks;
using School.Web.Modules.Pupils;
using School.Web.Modules.Syllabus;
using School.Web.Modules.Syllabus.Mocks;
using School.Web.Platform.Access;

namespace School.Web.Demo;

/// <summary>Theory certificates and licence checks of most pupils, one of each in trouble, and mock tests of those near a test.</summary>
internal sealed class DemoMocks(IServiceProvider services, DemoClock clock, Instant now, DateTimeZone zone)
{
    /// <summary>Who drove one and how many days ago, as far as they were ready for it.</summary>
    private static readonly (int Pupil, int DaysAgo)[] Driven = [(1, 52), (1, 9), (4, 10), (9, 58), (9, 12), (14, 44), (16, 50), (16, 3), (34, 8)];

    /// <summary>Headings of the sheet, each with the skill that it looks at.</summary>
    private static readonly (string Heading, string Skill)[] Judged =
    [
        ("21-observation", "junctions"), ("14-change-direction", "mirrors"), ("13-safety", "moving-away-and-stopping"), ("12-steering", "controls-and-instruments"),
        ("18", "use-of-speed"), ("22-crossing", "other-traffic"), ("23-normal-driving", "safe-positioning"), ("20-undue-hesitation", "anticipation-and-planning"), ("5-control", "parking"),
    ];

    private readonly LocalDate _today = now.InZone(zone).Date;

    public async Task FillAsync(IReadOnlyList<DemoPupil> pupils, DemoLearning learning)
    {
        clock.Now = now - Duration.FromMinutes(20);
        foreach (var pupil in pupils)
        {
            await DemoVerbs.DoAsync<ChangePapers, Pupil>(
                services, Viewer.Service, (verb, cancel) => verb.RunAsync(Viewer.Service, pupil.Pupil.Id, new(TheoryOf(pupil.Number), CheckOf(pupil.Number)), null, cancel));
        }

        foreach (var (number, daysAgo) in Driven)
        {
            var (pupil, teacher, on) = (pupils[number], pupils[number].Instructor, _today.PlusDays(-daysAgo));
            var levels = learning.LevelsBefore(number, on);
            if (!MayDrive(levels))
            {
                continue;
            }

            var faults = FaultsOf(levels, number + daysAgo);
            var viewer = new Viewer(teacher.Id, OfficeParts.None, teacher.Id, null, teacher.Name);
            var bodies = faults.SelectMany(fault => Enumerable.Repeat(new MockFaultBody(fault.Heading, fault.Kind), fault.Times)).ToList();
            await DemoVerbs.DoAsync<AddMockTest, MockTest>(
                services, viewer, (verb, cancel) => verb.RunAsync(viewer, pupil.Pupil.Id, new(on, null, bodies, Note: NoteOf(faults), Finished: true, NotSupervising: true), cancel));
        }
    }

    /// <summary>A mock test is for those who have begun all that it looks at.</summary>
    public static bool MayDrive(IReadOnlyDictionary<string, SkillLevel> levels) => Judged.All(one => levels.ContainsKey(one.Skill));

    /// <summary>The weaker the skill, the more faults under its headings; a serious one only where the pupil does not yet do without help.</summary>
    public static IReadOnlyList<DemoFault> FaultsOf(IReadOnlyDictionary<string, SkillLevel> levels, int turn)
    {
        var faults = new List<DemoFault>();
        foreach (var ((heading, skill), at) in Judged.Select((one, at) => (one, at)))
        {
            var chance = (turn + (at * 5)) % 4;
            var driving = levels[skill] switch
            {
                SkillLevel.Introduced or SkillLevel.Helped => 3 + (chance % 2),
                SkillLevel.Prompted => chance,
                SkillLevel.Independent => chance == 3 ? 1 : 0,
                _ => 0,
            };
            if (driving > 0)
            {
                faults.Add(new(heading, skill, FaultKind.Driving, driving));
            }

            if (levels[skill] < SkillLevel.Prompted || (levels[skill] == SkillLevel.Prompted && chance == 3 && faults.TrueForAll(fault => fault.Kind == FaultKind.Driving)))
            {
                faults.Add(new(heading, skill, FaultKind.Serious, 1));
            }
        }

        return faults;
    }

    /// <summary>What the instructor says of it: the skill that cost most.</summary>
    public static string NoteOf(IReadOnlyList<DemoFault> faults)
    {
        var shipped = SyllabusDefaults.GreatBritain();
        var worst = faults.OrderByDescending(fault => fault.Kind).ThenByDescending(fault => fault.Times).FirstOrDefault();
        return worst is null ? "Nothing to mark. Ready for the day."
            : worst.Kind == FaultKind.Driving ? $"Small things only, most under {shipped.Find(worst.Skill)!.Name}."
            : $"Held up well until {shipped.Find(worst.Skill)!.Name}: two lessons on that first.";
    }

    /// <summary>Some have not passed it yet; that of one ends before the test.</summary>
    private LocalDate? TheoryOf(int number) => number switch
    {
        DemoPapers.TheoryLongAgo => _today.PlusYears(-2).PlusDays(5),
        _ when number % 6 == 4 || !DemoPapers.NeedsTheory(number) => null,
        _ => _today.PlusDays(-85 - (12 * number)),
    };

    /// <summary>One is due again.</summary>
    private LocalDate CheckOf(int number) => number == 2 ? _today.PlusMonths(-7) : _today.PlusDays(-20 - (3 * number));
}

/// <summary>So many faults of a kind under a heading of the sheet, which looks at a skill.</summary>
internal sealed record DemoFault(string Heading, string Skill, FaultKind Kind, int Times);
