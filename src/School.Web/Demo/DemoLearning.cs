using NodaTime;
using School.Core.Diary;
using School.Core.Syllabus;
using School.Web.Modules.Syllabus.Lessons;

namespace School.Web.Demo;

/// <summary>How the made-up pupils come along: what each lesson covers, at which level, and what is said about it.</summary>
internal sealed class DemoLearning(SyllabusEdition syllabus, int seed = DemoLearning.Seed)
{
    private const int Seed = 20_050;
    private const int MostUnderWay = 12;

    /// <summary>By so many hours so many skills have been begun, as far as they can be built on: 3, and from then on about one an hour.</summary>
    private const int BegunAtOnce = 3;

    /// <summary>Every third pupil came from another school and began with a drive through all that they could.</summary>
    private const int Before = 14;

    /// <summary>Those with a test day came to the school late in their course.</summary>
    private const int BeforeTest = 24;

    private const int MinutesForOne = 90;
    private const int LookedAtAgain = 21;
    private const int MostAgain = 5;

    /// <summary>As the skills are taught here: junctions right after the signals, which the record has much later.</summary>
    private readonly List<Skill> _taught =
        [.. syllabus.Skills.TakeWhile(skill => skill.Key != "anticipation-and-planning").Concat(syllabus.Skills.Where(skill => skill.Key == "junctions")).Concat(syllabus.Skills).DistinctBy(skill => skill.Key)];

    private readonly Dictionary<int, Dictionary<string, SkillLevel>> _levels = [];
    private readonly Dictionary<int, int> _minutes = [];
    private readonly Dictionary<int, string> _aims = [];
    private readonly Dictionary<int, List<(LocalDate On, IReadOnlyDictionary<string, SkillLevel> Levels)>> _history = [];
    private readonly Dictionary<int, Dictionary<string, LocalDate>> _touched = [];
    private readonly Dictionary<int, List<string>> _said = [];
    private IReadOnlyCollection<string> _covered = [];

#pragma warning disable CA5394 // Chance in made-up data, the same every time, guards nothing.
    private readonly Random _chance = new(seed);

    /// <summary>What the instructor writes down after a pupil's next lesson; now and then only the minutes and a sentence.</summary>
    public RecordRequest Next(DemoPupil pupil, int minutes, string sentence, LocalDate on)
    {
        var record = Record(pupil, minutes, sentence, on);
        record = record with { Note = Fresh(pupil.Number, record.Note!) };
        var touched = Touched(pupil.Number);
        foreach (var level in record.Levels ?? [])
        {
            touched[level.Skill!] = on;
        }

        _covered = [.. (record.Levels ?? []).Select(level => level.Skill!)];
        _minutes[pupil.Number] = _minutes.GetValueOrDefault(pupil.Number) + minutes;
        if (!_history.TryGetValue(pupil.Number, out var history))
        {
            _history[pupil.Number] = history = [];
        }

        history.Add((on, new Dictionary<string, SkillLevel>(_levels[pupil.Number])));
        return record;
    }

    /// <summary>Where a pupil stood after the last lesson before a day.</summary>
    public IReadOnlyDictionary<string, SkillLevel> LevelsBefore(int pupil, LocalDate day) =>
        _history.GetValueOrDefault(pupil, []).LastOrDefault(lesson => lesson.On < day).Levels ?? new Dictionary<string, SkillLevel>();

    private Dictionary<string, LocalDate> Touched(int pupil) => _touched.TryGetValue(pupil, out var touched) ? touched : _touched[pupil] = [];

    /// <summary>Nobody writes down the same twice within three lessons.</summary>
    private string Fresh(int pupil, string words)
    {
        var said = _said.GetValueOrDefault(pupil, []);
        var fresh = said.Contains(words) ? DemoWords.Plain.First(one => !said.Contains(one)) : words;
        _said[pupil] = [.. said.TakeLast(1), fresh];
        return fresh;
    }

    private RecordRequest Record(DemoPupil pupil, int minutes, string sentence, LocalDate on)
    {
        if (!_levels.TryGetValue(pupil.Number, out var levels))
        {
            _levels[pupil.Number] = levels = [];
            if (DemoTests.HasTest(pupil.Number))
            {
                return Transfer(pupil, levels, minutes, BeforeTest, SkillLevel.Prompted);
            }

            if (pupil.Number % 3 == 1)
            {
                return Transfer(pupil, levels, minutes, Before, SkillLevel.Helped);
            }
        }

        if (_chance.Next(12) == 0 && levels.Count > 0)
        {
            return new(minutes, sentence);
        }

        var marks = Cover(pupil, levels, minutes, on);
        if (marks.Count == 0)
        {
            return new(minutes, sentence);
        }

        // Told of is not what was agreed last time, where there was more: it would be the same words again.
        var told = marks.FindAll(mark => mark.Skill.Key != _aims.GetValueOrDefault(pupil.Number)) is { Count: > 0 } others ? others : marks;
        var (skill, level, before) = told[_chance.Next(told.Count)];
        var (note, aim) = DemoWords.Of(skill, level);
        var aimed = _chance.Next(5) != 0;
        _aims[pupil.Number] = aimed ? skill.Key : "";
        return new(
            minutes,
            level < before ? $"{skill.Name} took a step back in heavier traffic. That happens; we look at it again." : note,
            [.. marks.Select(mark => new LevelRequest(mark.Skill.Key, mark.Level))],
            aimed ? aim : "",
            _chance.Next(9) == 0 ? "Tired towards the end: shorter drives, a break half way." : "",
            RouteOf((marks.Find(mark => mark.Skill.Key == MotorwayRule.Skill).Skill ?? skill).Key),
            _chance.Next(4) == 0 ? null : Math.Round((decimal)minutes * (14 + _chance.Next(8)) / 60, 1));
    }

    /// <summary>What the pupil says about the lesson that was last written down, if anything.</summary>
    public string? Reflection() => _chance.Next(3) == 0 && DemoWords.ReflectionsOn(_covered) is { } said ? said[_chance.Next(said.Count)] : null;

    private RecordRequest Transfer(DemoPupil pupil, Dictionary<string, SkillLevel> levels, int minutes, int skills, SkillLevel least)
    {
        _minutes[pupil.Number] = (skills - BegunAtOnce) * 60;
        foreach (var skill in syllabus.Skills.Where(skill => skill.Key != MotorwayRule.Skill).Take(skills))
        {
            levels[skill.Key] = Within(pupil, levels, least, (SkillLevel)Math.Min((int)SkillLevel.Independent, (int)least + _chance.Next(3)));
        }

        return new(
            minutes, "A good look at all that you can do already. Thank you for the open talk.", [.. levels.Select(level => new LevelRequest(level.Key, level.Value))],
            "Roundabouts, starting with the quiet ones.", "Came from another school; levels as seen today.", RouteKind.Town, null);
    }

    /// <summary>What was agreed last time and some other skills under way, and the next of the syllabus for which there were hours enough.</summary>
    private List<(Skill Skill, SkillLevel Level, SkillLevel? Before)> Cover(DemoPupil pupil, Dictionary<string, SkillLevel> levels, int minutes, LocalDate on)
    {
        var covered = new List<(Skill, SkillLevel, SkillLevel?)>();
        var aim = _aims.GetValueOrDefault(pupil.Number);
        var underWay = syllabus.Skills.Where(skill => levels.TryGetValue(skill.Key, out var level) && level < SkillLevel.Independent).ToList();
        var order = underWay.Select(skill => (Skill: skill, Turn: skill.Key == aim ? -1 : _chance.Next() / (levels[skill.Key] < SkillLevel.Prompted ? 4 : 1)));
        foreach (var skill in order.OrderBy(one => one.Turn).Take(minutes > 60 ? 5 : 4).Select(one => one.Skill).ToList())
        {
            var before = levels[skill.Key];
            // The first steps come fast: a skill seen last week goes with a prompt or two this week. To go without any takes longer.
            var step = (_chance.Next(100), before < SkillLevel.Prompted) switch { ( < 45, true) => 2, ( < 80, true) => 1, (_, true) => 0, ( < 40, _) => 1, ( < 92, _) => 0, _ => -1 };
            covered.Add((skill, levels[skill.Key] = Within(pupil, levels, before, (SkillLevel)Math.Clamp((int)before + step, 1, 5)), before));
        }

        // What goes well is driven again before it goes stale.
        var touched = Touched(pupil.Number);
        covered.AddRange(levels.Where(one => one.Value >= SkillLevel.Prompted && one.Key != MotorwayRule.Skill && touched.GetValueOrDefault(one.Key) <= on.PlusDays(-LookedAtAgain)
                && !covered.Exists(mark => mark.Item1.Key == one.Key))
            .OrderBy(one => touched.GetValueOrDefault(one.Key)).ThenBy(one => one.Key, StringComparer.Ordinal).Take(MostAgain).ToList()
            .Select(one => (syllabus.Find(one.Key)!, one.Value, (SkillLevel?)one.Value)));

        var begun = BegunAtOnce + ((_minutes.GetValueOrDefault(pupil.Number) + minutes) / 60);
        var open = _taught.Where(skill => skill.Key != MotorwayRule.Skill || pupil.Instructor.Registration == RegistrationKind.Approved).ToList();
        for (var n = 0; n < (minutes > 60 ? BegunAtOnce + 1 : BegunAtOnce) && underWay.Count + n < MostUnderWay && levels.Count < begun; n++)
        {
            if (open.Find(skill => !levels.ContainsKey(skill.Key) && skill.Needs.All(need => levels.GetValueOrDefault(need) >= SkillLevel.Helped)) is not { } next)
            {
                break;
            }

            covered.Add((next, levels[next.Key] = next.Needs.Count > 0 && _chance.Next(3) == 0 ? SkillLevel.Introduced : SkillLevel.Helped, null));
        }

        if (covered.Count == 0 && open.Find(skill => levels.GetValueOrDefault(skill.Key) is > 0 and not SkillLevel.Reflection) is { } better)
        {
            var before = levels[better.Key];
            covered.Add((better, levels[better.Key] = Within(pupil, levels, before, before + 1), before));
        }

        return covered;
    }

    /// <summary>No more goes alone than there were hours for: about one skill for each hour and a half (common practice, no source).</summary>
    private SkillLevel Within(DemoPupil pupil, Dictionary<string, SkillLevel> levels, SkillLevel before, SkillLevel wanted) =>
        wanted >= SkillLevel.Independent && before < SkillLevel.Independent
            && levels.Values.Count(level => level >= SkillLevel.Independent) >= _minutes.GetValueOrDefault(pupil.Number) / MinutesForOne ? SkillLevel.Prompted : wanted;
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
