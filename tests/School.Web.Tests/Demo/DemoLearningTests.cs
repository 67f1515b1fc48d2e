using NodaTime;
using School.Core.Diary;
using School.Core.Syllabus;
using School.Core.Syllabus.Mocks;
using School.Web.Demo;
using School.Web.Modules.People;
using School.Web.Modules.Syllabus;
using School.Web.Modules.Syllabus.Lessons;

namespace School.Web.Tests.Demo;

/// <summary>The made-up school agrees with itself: what is told of a lesson was done in it, hours and levels go together, and mock tests fit both.</summary>
public sealed class DemoLearningTests
{
    private const int Pupils = 40;
    private const int Lessons = 20;
    private const int Minutes = 90;

    private static readonly LocalDate First = new(2026, 1, 5);
    private static readonly SyllabusEdition Syllabus = SyllabusDefaults.GreatBritain();
    private static readonly Dictionary<string, string> Told = new()
    {
        ["roundabouts scare"] = "roundabouts",
        ["the cyclist late"] = "anticipation-and-planning",
        ["cockpit checks"] = "cockpit-checks",
        ["the switches"] = "controls-and-instruments",
        ["car behind me"] = "mirrors",
        ["waiting is not a mistake"] = "junctions",
    };

    [Fact]
    public void A_note_that_tells_of_a_skill_belongs_to_a_lesson_that_covered_it()
    {
        foreach (var (_, record, _) in Run(new DemoLearning(Syllabus)))
        {
            var covered = (record.Levels ?? []).Select(level => level.Skill!).ToHashSet();
            var others = Syllabus.Skills.Where(skill => !covered.Contains(skill.Key)).ToList();
            Assert.DoesNotContain(others, skill => Enum.GetValues<SkillLevel>().Any(level => DemoWords.Of(skill, level).Note == record.Note));
            if (record.Note != "A good look at all that you can do already. Thank you for the open talk.")
            {
                Assert.DoesNotContain(others, skill => record.Note!.StartsWith(skill.Name, StringComparison.Ordinal));
            }
        }
    }

    [Fact]
    public void A_sentence_of_a_lesson_without_skills_names_none()
    {
        string[] words = ["mirror", "signal", "roundabout", "junction", "emerging", "hill", "park", "carriageway", "sat nav", "clutch", "blind spot", "bend", "traffic", "gap", "lane", "speed"];
        Assert.All(DemoWords.Plain, sentence => Assert.DoesNotContain(words, word => sentence.Contains(word, StringComparison.OrdinalIgnoreCase)));
    }

    [Fact]
    public void What_a_pupil_says_of_a_skill_follows_a_lesson_that_covered_it()
    {
        var said = 0;
        foreach (var (_, record, words) in Run(new DemoLearning(Syllabus)))
        {
            if (words is not null && Told.FirstOrDefault(one => words.Contains(one.Key, StringComparison.Ordinal)).Value is { } skill)
            {
                said++;
                Assert.Contains(skill, (record.Levels ?? []).Select(level => level.Skill));
            }
        }

        Assert.True(said > 20, $"Only {said} reflections told of a skill.");
    }

    /// <summary>Common practice, no source: after some fifteen hours a beginner drives in traffic, junctions among it; after thirty most of the syllabus is begun and a good part of it goes alone.</summary>
    [Fact]
    public void Hours_and_levels_go_together()
    {
        var learning = new DemoLearning(Syllabus);
        Assert.NotEmpty(Run(learning).ToList());
        foreach (var beginner in Enumerable.Range(0, Pupils).Where(number => !DemoTests.HasTest(number) && number % 3 != 1))
        {
            var (after3, after15, after30) = (After(learning, beginner, 2), After(learning, beginner, 10), After(learning, beginner, 20));
            Assert.InRange(after3.Count, 3, 8);
            Assert.True(after15.Count >= 12 && after15.ContainsKey("junctions"), $"{beginner} after 15 hours: {string.Join(", ", after15)}");
            Assert.True(after30.Count >= 18 && after30.Values.Count(level => level >= SkillLevel.Independent) >= 8, $"{beginner} after 30 hours: {string.Join(", ", after30)}");
        }
    }

    [Fact]
    public void A_mock_test_fits_the_levels()
    {
        var learning = new DemoLearning(Syllabus);
        Assert.NotEmpty(Run(learning).ToList());
        var driven = 0;
        for (var number = 0; number < Pupils; number++)
        {
            for (var lesson = 1; lesson <= Lessons; lesson++)
            {
                var levels = After(learning, number, lesson);
                if (!DemoMocks.MayDrive(levels))
                {
                    continue;
                }

                driven++;
                for (var turn = 0; turn < 4; turn++)
                {
                    var faults = DemoMocks.FaultsOf(levels, turn);
                    Assert.All(faults, fault => Assert.Contains(fault.Skill, levels));
                    Assert.All(faults.Where(fault => fault.Kind == FaultKind.Serious), fault => Assert.True(levels[fault.Skill] < SkillLevel.Independent));
                    Assert.All(faults.Where(fault => fault.Times > 1), fault => Assert.True(levels[fault.Skill] < SkillLevel.Independent));
                    Assert.DoesNotContain(faults, fault => levels[fault.Skill] == SkillLevel.Reflection);
                    // Whoever needs help with what is judged does not pass.
                    Assert.All(levels.Where(one => one.Value < SkillLevel.Prompted && faults.Any(fault => fault.Skill == one.Key)), one => Assert.Contains(faults, fault => fault.Kind == FaultKind.Serious));
                    var worst = faults.Select(fault => fault.Skill).FirstOrDefault(skill => DemoMocks.NoteOf(faults).Contains(Syllabus.Find(skill)!.Name, StringComparison.Ordinal));
                    Assert.True(worst is not null || faults.Count == 0, DemoMocks.NoteOf(faults));
                    Assert.Equal(faults.Any(fault => fault.Kind == FaultKind.Serious), DemoMocks.NoteOf(faults).StartsWith("Held up well until", StringComparison.Ordinal));
                }
            }
        }

        Assert.True(driven > 100, $"Only {driven} could drive one.");
        Assert.False(DemoMocks.MayDrive(new Dictionary<string, SkillLevel> { ["mirrors"] = SkillLevel.Reflection }));
    }

    // The format of September 2001: March and September, the latter with 50 more (from memory).
    [Theory]
    [InlineData("2024-03-01", "24")]
    [InlineData("2024-08-31", "24")]
    [InlineData("2024-09-01", "74")]
    [InlineData("2024-02-29", "73")]
    [InlineData("2009-05-05", "09")]
    public void A_plate_is_as_old_as_its_car(string registered, string digits) =>
        Assert.Equal(digits, Larkfield.PlateAge(NodaTime.Text.LocalDatePattern.Iso.Parse(registered).Value));

    private static IEnumerable<(int Number, RecordRequest Record, string? Said)> Run(DemoLearning learning)
    {
        for (var lesson = 0; lesson < Lessons; lesson++)
        {
            for (var number = 0; number < Pupils; number++)
            {
                var record = learning.Next(new(number, null!, Teacher(number)), Minutes, DemoWords.Plain[(lesson + number) % DemoWords.Plain.Length], First.PlusWeeks(lesson));
                yield return (number, record, learning.Reflection());
            }
        }
    }

    private static IReadOnlyDictionary<string, SkillLevel> After(DemoLearning learning, int number, int lessons) => learning.LevelsBefore(number, First.PlusWeeks(lessons));

    private static Instructor Teacher(int number) => new()
    {
        Name = "Marigold Ashby",
        Email = "instructor@larkfield.example",
        Phone = "01632 960200",
        Teaches = [],
        Registration = number < 34 ? RegistrationKind.Approved : RegistrationKind.Trainee,
        RegistrationNumber = "482915",
        RegisteredTo = First.PlusYears(2),
        Base = Larkfield.TestCentre,
    };
}
