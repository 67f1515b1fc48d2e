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
    public void An_aim_leads_to_its_skill(string aim, string skill) => Assert.Equal(skill, AimSkill.Of(Shipped(), aim)?.Key);

    [Theory]
    [InlineData("")]
    [InlineData("!!!")]
    [InlineData("Xyzzy")]
    public void Words_that_say_nothing_lead_nowhere(string aim) => Assert.Null(AimSkill.Of(Shipped(), aim));

    private static SyllabusEdition Shipped() => SyllabusDefaults.GreatBritain();
}
