using NodaTime;
using School.Core.Syllabus;

namespace School.Core.Tests.Syllabus;

public sealed class NextSkillsTests
{
    private static readonly LocalDate Day = new(2026, 3, 2);
    private static readonly SyllabusEdition Edition = new(1, [new("All", [Skill("a"), Skill("b", "a"), Skill("c", "b"), Skill("d")])]);

    [Fact]
    public void A_new_pupil_starts_with_the_first_skill() => Assert.Equal("a", Of().Next!.Key);

    [Fact]
    public void A_skill_waits_until_what_it_needs_stands()
    {
        Assert.Equal("d", Of(("a", SkillLevel.Helped, 0)).Next!.Key);
        Assert.Equal("b", Of(("a", SkillLevel.Prompted, 0)).Next!.Key);
    }

    [Fact]
    public void A_need_that_went_down_closes_the_way_again() =>
        Assert.Equal("d", Of(("a", SkillLevel.Independent, 9), ("a", SkillLevel.Introduced, 2)).Next!.Key);

    [Fact]
    public void Where_everything_is_started_nothing_is_next() =>
        Assert.Null(Of(("a", SkillLevel.Helped, 3), ("b", SkillLevel.Helped, 2), ("c", SkillLevel.Helped, 1), ("d", SkillLevel.Helped, 0)).Next);

    [Fact]
    public void A_need_that_the_syllabus_no_longer_has_is_in_nobodys_way()
    {
        var edition = new SyllabusEdition(2, [new("All", [Skill("b", "retired")])]);
        Assert.Equal("b", NextSkills.Of(edition, new Dictionary<string, SkillStanding>(), Day, NextSkills.UsualStaleDays).Next!.Key);
    }

    [Fact]
    public void Skills_go_stale_the_day_after_the_limit_and_the_longest_left_comes_first()
    {
        Assert.Empty(Of(("a", SkillLevel.Prompted, 42)).Stale);
        Assert.Equal(["b", "a"], Of(("a", SkillLevel.Prompted, 43), ("b", SkillLevel.Independent, 60)).Stale.Select(standing => standing.Skill));
    }

    [Fact]
    public void What_is_worked_on_is_what_is_started_and_does_not_stand_yet() =>
        Assert.Equal(["a", "d"], Of(("d", SkillLevel.Introduced, 3), ("b", SkillLevel.Independent, 2), ("a", SkillLevel.Helped, 1)).Working.Select(standing => standing.Skill));

    private static NextSkills Of(params (string Skill, SkillLevel Level, int DaysAgo)[] marks) => NextSkills.Of(
        Edition,
        SkillStanding.Of(marks.OrderByDescending(mark => mark.DaysAgo).Select(mark => new TaughtLesson(Day.PlusDays(-mark.DaysAgo), 60, [new(mark.Skill, mark.Level)]))),
        Day,
        NextSkills.UsualStaleDays);

    private static Skill Skill(string key, params string[] needs) => new() { Key = key, Name = $"Skill {key}", Needs = needs };
}
