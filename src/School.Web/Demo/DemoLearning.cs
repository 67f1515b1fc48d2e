using School.Core.Diary;
using School.Core.Syllabus;
using School.Web.Modules.Syllabus.Lessons;

namespace School.Web.Demo;

/// <summary>How the made-up pupils come along: what each lesson covers, at which level, and what is said about it.</summary>
internal sealed class DemoLearning(SyllabusEdition syllabus, int seed = DemoLearning.Seed)
{
    private const int Seed = 20_050;
    private const int MostUnderWay = 6;

    /// <summary>Every third pupil came from another school and began with a drive through all that they could.</summary>
    private const int Before = 14;

    /// <summary>Those with a test day came to the school late in their course.</summary>
    private const int BeforeTest = 24;

    private readonly Dictionary<int, Dictionary<string, SkillLevel>> _levels = [];

#pragma warning disable CA5394 // Chance in made-up data, the same every time, guards nothing.
    private readonly Random _chance = new(seed);

    /// <summary>What the instructor writes down after a pupil's next lesson; now and then only the minutes and a sentence.</summary>
    public RecordRequest Next(DemoPupil pupil, int minutes, string sentence)
    {
        if (!_levels.TryGetValue(pupil.Number, out var levels))
        {
            _levels[pupil.Number] = levels = [];
            if (DemoTests.HasTest(pupil.Number))
            {
                return Transfer(levels, minutes, BeforeTest, SkillLevel.Prompted);
            }

            if (pupil.Number % 3 == 1)
            {
                return Transfer(levels, minutes, Before, SkillLevel.Helped);
            }
        }

        if (_chance.Next(12) == 0)
        {
            return new(minutes, sentence);
        }

        var marks = Cover(levels, minutes, mayTeachMotorways: pupil.Instructor.Registration == RegistrationKind.Approved);
        if (marks.Count == 0)
        {
            return new(minutes, sentence);
        }

        var (skill, level, before) = marks[^1];
        var (note, aim) = DemoWords.Of(skill.Key);
        return new(
            minutes,
            level < before ? $"{skill.Name} took a step back in heavier traffic. That happens; we look at it again." : note,
            [.. marks.Select(mark => new LevelRequest(mark.Skill.Key, mark.Level))],
            _chance.Next(5) == 0 ? "" : aim,
            _chance.Next(9) == 0 ? "Tired towards the end: shorter drives, a break half way." : "",
            RouteOf(skill.Key),
            _chance.Next(4) == 0 ? null : Math.Round((decimal)minutes * (14 + _chance.Next(8)) / 60, 1));
    }

    /// <summary>What the pupil says about it, if anything.</summary>
    public string? Reflection() => _chance.Next(3) == 0 ? DemoWords.Reflections[_chance.Next(DemoWords.Reflections.Length)] : null;

    private RecordRequest Transfer(Dictionary<string, SkillLevel> levels, int minutes, int skills, SkillLevel least)
    {
        foreach (var skill in syllabus.Skills.Where(skill => skill.Key != MotorwayRule.Skill).Take(skills))
        {
            levels[skill.Key] = (SkillLevel)Math.Min((int)SkillLevel.Independent, (int)least + _chance.Next(3));
        }

        return new(
            minutes, "A good look at all that you can do already. Thank you for the open talk.", [.. levels.Select(level => new LevelRequest(level.Key, level.Value))],
            "Roundabouts, starting with the quiet ones.", "Came from another school; levels as seen today.", RouteKind.Town, null);
    }

    /// <summary>Some skills under way and, where few are, the next one of the syllabus.</summary>
    private List<(Skill Skill, SkillLevel Level, SkillLevel? Before)> Cover(Dictionary<string, SkillLevel> levels, int minutes, bool mayTeachMotorways)
    {
        var covered = new List<(Skill, SkillLevel, SkillLevel?)>();
        var underWay = syllabus.Skills.Where(skill => levels.TryGetValue(skill.Key, out var level) && level < SkillLevel.Independent).ToList();
        foreach (var skill in underWay.OrderBy(_ => _chance.Next()).Take(minutes > 60 ? 4 : 3))
        {
            var before = levels[skill.Key];
            var step = _chance.Next(100) switch { < 72 => 1, < 93 => 0, _ => -1 };
            covered.Add((skill, levels[skill.Key] = (SkillLevel)Math.Clamp((int)before + step, 1, 5), before));
        }

        var open = syllabus.Skills.Where(skill => mayTeachMotorways || skill.Key != MotorwayRule.Skill).ToList();
        var next = open.Find(skill => !levels.ContainsKey(skill.Key) && skill.Needs.All(need => levels.GetValueOrDefault(need) >= NextSkills.Stands))
            ?? (covered.Count == 0 ? open.Find(skill => levels.GetValueOrDefault(skill.Key) != SkillLevel.Reflection) : null);
        if (next is not null && (underWay.Count < MostUnderWay || covered.Count == 0))
        {
            SkillLevel? before = levels.TryGetValue(next.Key, out var level) ? level : null;
            covered.Add((next, levels[next.Key] = before is { } had ? had + 1 : (SkillLevel)(1 + _chance.Next(2)), before));
        }

        return covered;
    }
#pragma warning restore CA5394

    private static RouteKind RouteOf(string skill) => skill switch
    {
        "country-roads" => RouteKind.Country,
        "dual-carriageways" => RouteKind.FastRoads,
        "motorways" => RouteKind.Motorway,
        "cockpit-checks" or "controls-and-instruments" or "moving-away-and-stopping" or "reversing" or "parking" => RouteKind.QuietStreets,
        "independent-driving" => RouteKind.TestRoutes,
        _ => RouteKind.Town,
    };
}
