using School.Core.Syllabus;
using School.Web.Modules.Syllabus;

namespace School.Web.Tests.Syllabus;

/// <summary>What an instructor writes down as the aim, in the words of the trade, leads to the skill of the syllabus as shipped.</summary>
public sealed class AimSkillTests
{
    [Theory]
    [InlineData("A hill start", "moving-away-and-stopping")]
    [InlineData("Two roundabouts alone.", "roundabouts")]
    [InlineData("Reverse into a bay", "reversing")]
    [InlineData("Emergency stop", "emergency-stop")]
    [InlineData("Motorways", "motorways")]
    [InlineData("Overtaking on country roads", "country-roads")]
    [InlineData("Mirrors before every signal that you give", null)]
    [InlineData("Change gear with your eyes on the road.", "controls-and-instruments")]
    [InlineData("Moving off uphill without rolling back.", "moving-away-and-stopping")]
    [InlineData("Follow the sat nav without a prompt", "independent-driving")]
    public void An_aim_leads_to_the_one_skill_that_it_names(string aim, string? skill) => Assert.Equal(skill, AimSkill.Of(Shipped(), aim)?.Key);

    [Theory]
    [InlineData("")]
    [InlineData("!!!")]
    [InlineData("Xyzzy")]
    [InlineData("Keep your eyes on the road.")]
    [InlineData("Hold that line where the road narrows.")]
    [InlineData("Speed right before the bend, not in it.")]
    [InlineData("A door’s width from the parked cars")]
    public void Everyday_words_lead_nowhere(string aim) => Assert.Null(AimSkill.Of(Shipped(), aim));

    private static SyllabusEdition Shipped() => SyllabusDefaults.GreatBritain();
}
