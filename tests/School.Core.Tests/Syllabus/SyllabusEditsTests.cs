using CsCheck;
using School.Core.Syllabus;

namespace School.Core.Tests.Syllabus;

public sealed class SyllabusEditsTests
{
    private static readonly SyllabusEdition Small = Edition(("Basics", ["a", "b"]), ("Junctions", ["c", "d"]));

    [Theory]
    [InlineData("b", false, "b a | c d")]
    [InlineData("a", true, "b a | c d")]
    [InlineData("a", false, "a b | c d")] // nothing stands before the first
    [InlineData("d", true, "a b | c d")]
    [InlineData("c", false, "a b c | d")] // over the edge, into the group before
    [InlineData("b", true, "a | b c d")]
    [InlineData("x", true, "a b | c d")]
    public void A_skill_moves_one_place_and_over_the_edge_into_the_next_group(string key, bool later, string becomes) =>
        Assert.Equal(becomes, Keys(Small.Move(key, later)));

    [Fact]
    public void A_group_that_loses_its_last_skill_goes_and_a_new_one_comes_last()
    {
        var edition = Edition(("Basics", ["a"]), ("Junctions", ["c"]));
        Assert.Equal("c", Keys(edition.Remove("a")));
        Assert.Equal("a | c | n", Keys(edition.Add(Named("n"), "Roads")));
        Assert.Equal("c a", Keys(edition.Replace(Named("a"), "Junctions")));
        Assert.Equal(["Start", "Junctions"], edition.RenameGroup("Basics", "Start").Groups.Select(g => g.Name));
    }

    [Fact]
    public void Each_change_is_told_in_a_sentence()
    {
        Assert.Equal([], EditionDifference.Sentences(Small, Small));
        Tells(Small.Add(Named("n"), "Basics"), "Added “N” to Basics.");
        Tells(Small.Remove("c"), "Retired “C”.");
        Tells(Small.Move("b", later: false), "Moved “A” after “B”.");
        Tells(Small.Move("c", later: false), "Moved “C” from Junctions to Basics.");
        Tells(Small.RenameGroup("Basics", "Start"), "Renamed the group “Basics” to “Start”.");
        Tells(Small.Replace(Named("a") with { Name = "Alpha", Aim = "Can do it.", Needs = ["b"] }, "Basics"), "Renamed “A” to “Alpha”.", "Changed “Alpha”: aim, what it builds on.");
        Tells(Edition(("Basics", ["d", "c"]), ("Junctions", ["b", "a"])), "Moved “D” from Junctions to Basics.", "Moved “C” from Junctions to Basics.", "Moved “B” from Basics to Junctions.", "Moved “A” from Basics to Junctions.");
        Assert.Equal(["Brought “A” back, in Basics."], EditionDifference.Sentences(Small.Remove("a"), Small, new HashSet<string> { "a" }));

        static void Tells(SyllabusEdition after, params string[] sentences) => Assert.Equal(sentences, EditionDifference.Sentences(Small, after));
    }

    [Fact]
    public void A_syllabus_names_groups_once_and_leaves_none_empty()
    {
        Assert.Equal([], Small.Problems());
        Assert.Equal(["Every group has at least one skill."], Edition(("Basics", ["a"]), ("Junctions", [])).Problems());
        Assert.Equal(["Two groups are named “Basics”."], Edition(("Basics", ["a"]), ("basics", ["b"])).Problems());
    }

    [Fact]
    public void Moving_keeps_every_skill_once_moving_back_undoes_it_and_whatever_moved_is_told()
    {
        var editions = Gen.Select(Gen.Int[1, 4], Gen.Int[1, 4], (groups, skills) =>
            Edition([.. Enumerable.Range(0, groups).Select(g => ($"Group {g}", Enumerable.Range(0, skills).Select(s => $"k{g}-{s}").ToArray()))]));
        Gen.Select(editions, Gen.Int[0, 15], Gen.Bool).Sample((edition, pick, later) =>
        {
            var keys = edition.Skills.Select(s => s.Key).ToList();
            var key = keys[pick % keys.Count];
            var moved = edition.Move(key, later);
            Assert.Equal(keys.Order(), moved.Skills.Select(s => s.Key).Order());
            Assert.Empty(moved.Problems());
            Assert.Equal(Keys(edition) == Keys(moved), EditionDifference.Sentences(edition, moved).Count == 0);
            if (moved.Groups.Count == edition.Groups.Count && Keys(edition) != Keys(moved))
            {
                Assert.Equal(Keys(edition), Keys(moved.Move(key, !later)));
            }
        });
    }

    private static SyllabusEdition Edition(params (string Name, string[] Keys)[] groups) =>
        new(1, [.. groups.Select(g => new SkillGroup(g.Name, [.. g.Keys.Select(Named)]))]);

    private static Skill Named(string key) => new() { Key = key, Name = key.ToUpperInvariant() };

    private static string Keys(SyllabusEdition edition) => string.Join(" | ", edition.Groups.Select(g => string.Join(' ', g.Skills.Select(s => s.Key))));
}
