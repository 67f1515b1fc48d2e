using NodaTime;
using School.Core.Syllabus;

namespace School.Core.Tests.Syllabus;

public sealed class LevelHoursTests
{
    private static readonly LocalDate Monday = new(2026, 3, 2);

    [Fact]
    public void Hours_to_a_level_are_those_of_the_first_time_it_was_reached_on_average_over_who_reached_it()
    {
        var quick = Pupil((60, SkillLevel.Introduced), (60, SkillLevel.Reflection), (60, SkillLevel.Helped), (60, SkillLevel.Independent));
        var slow = Pupil((90, SkillLevel.Helped), (90, SkillLevel.Prompted), (120, SkillLevel.Independent));
        var still = Pupil((600, SkillLevel.Prompted));
        var hours = LevelHours.Of([quick, slow, still], SkillLevel.Independent);
        // 120 minutes, when the first was even above it, and 300.
        Assert.Equal(new LevelHours("signals", 2, 210), Assert.Single(hours).Value);
    }

    [Fact]
    public void A_skill_in_which_nobody_got_there_is_left_out() => Assert.Empty(LevelHours.Of([Pupil((60, SkillLevel.Prompted))], SkillLevel.Independent));

    [Fact]
    public void Who_had_the_level_when_the_skill_was_first_marked_is_left_out() =>
        Assert.Empty(LevelHours.Of([Pupil((60, SkillLevel.Independent), (60, SkillLevel.Reflection))], SkillLevel.Independent));

    private static IReadOnlyDictionary<string, SkillStanding> Pupil(params (int Minutes, SkillLevel Level)[] lessons) =>
        SkillStanding.Of(lessons.Select((lesson, n) => new TaughtLesson(Monday.PlusWeeks(n), lesson.Minutes, [new("signals", lesson.Level)])));
}
