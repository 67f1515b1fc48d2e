using CsCheck;
using School.Core.Syllabus;

namespace School.Core.Tests.Syllabus;

public sealed class SyllabusEditionTests
{
    [Fact]
    public void A_sound_syllabus_has_no_problems() =>
        Assert.Empty(Edition(Skill("a"), Skill("b", "a"), Skill("c", "a", "b")).Problems());

    [Fact]
    public void A_syllabus_without_skills_is_refused() =>
        Assert.Equal(["A syllabus has between 1 and 100 skills."], new SyllabusEdition(1, []).Problems());

    [Fact]
    public void A_group_without_skills_is_refused() =>
        Assert.Equal(["Every group has at least one skill."], new SyllabusEdition(1, [new("All", [Skill("a")]), new("None", [])]).Problems());

    [Fact]
    public void Keys_and_names_stand_once_and_names_do_not_differ_by_case_alone() => Assert.Equal(
        ["Two skills have the key “a”.", "Two skills are named “Junctions”."],
        Edition(Skill("a") with { Name = "Junctions" }, Skill("a") with { Name = "junctions" }).Problems());

    [Fact]
    public void A_need_that_is_not_there_is_named() =>
        Assert.Equal(["“Skill a” builds on “gone”, which this syllabus does not have."], Edition(Skill("a", "gone")).Problems());

    [Fact]
    public void A_circle_is_named_by_a_skill_that_lies_in_it() => Assert.Equal(
        ["“Skill b” builds on itself, through the skills it builds on."],
        Edition(Skill("a", "b"), Skill("b", "c"), Skill("c", "b")).Problems());

    [Fact]
    public void Whatever_builds_only_on_what_stands_before_it_is_sound() => Gen.Int[0, 9].Array[0, 4].Array[1, 12].Sample(wishes =>
    {
        var skills = wishes.Select((needs, at) => Skill($"s{at}", [.. needs.Where(need => need < at).Distinct().Select(need => $"s{need}")])).ToArray();
        Assert.Empty(Edition(skills).Problems());
    });

    [Fact]
    public void A_chain_closed_to_a_ring_is_always_found() => Gen.Select(Gen.Int[1, 12], Gen.Int[0, 11]).Sample((length, extra) =>
    {
        var ring = Enumerable.Range(0, length).Select(at => Skill($"s{at}", $"s{(at + 1) % length}"));
        var beside = Enumerable.Range(0, extra).Select(at => Skill($"t{at}"));
        Assert.Single(Edition([.. beside, .. ring]).Problems());
    });

    private static SyllabusEdition Edition(params Skill[] skills) => new(1, [new("All", skills)]);

    private static Skill Skill(string key, params string[] needs) => new() { Key = key, Name = $"Skill {key}", Needs = needs };
}
