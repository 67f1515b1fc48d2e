using School.Core.Syllabus;
using School.Web.Modules.Syllabus;

namespace School.Web.Tests.Syllabus;

/// <summary>The syllabus as shipped, against the published list and against what a practising instructor needs of it.</summary>
public sealed class GreatBritainTests
{
    private static readonly SyllabusEdition Shipped = SyllabusDefaults.GreatBritain();

    /// <summary>Codes of the publications that the words may rest on; anything else is a slip.</summary>
    private static readonly string[] Publications =
    [
        "The Highway Code", "Road Traffic Act 1988", "gov.uk", "readytopass.campaign.gov.uk", "DVSA", "DVLA", "askthe.police.uk", "Road Vehicles", "Motor Vehicles", "Road Traffic",
    ];

    public static TheoryData<string> Keys => [.. Shipped.Skills.Select(skill => skill.Key)];

    // DVSA driver's record: gov.uk/government/publications/keep-a-record-of-your-pupils-driving-lessons, names and order.
    [Fact]
    public void It_has_the_27_skills_in_8_groups_of_the_drivers_record_in_its_order()
    {
        Assert.Equal(
            [
                "Basics", "Control and positioning", "Observation, signalling and planning", "Junctions, roundabouts and crossings",
                "Manoeuvres", "Road types", "Driving conditions", "Following routes",
            ],
            Shipped.Groups.Select(group => group.Name));
        Assert.Equal(
            [
                "Legal responsibilities", "Safety checks", "Cockpit checks", "Security",
                "Controls and instruments", "Moving away and stopping", "Safe positioning",
                "Mirrors – vision and use", "Signals", "Anticipation and planning", "Use of speed", "Other traffic", "Fuel-efficient driving",
                "Junctions", "Roundabouts", "Pedestrian crossings",
                "Reversing", "Turning the car around", "Parking", "Emergency stop",
                "Country roads", "Dual carriageways", "Motorways",
                "Driving in the dark", "Weather conditions", "Passengers and loads",
                "Independent driving and using a sat nav",
            ],
            Shipped.Skills.Select(skill => skill.Name));
        Assert.Empty(Shipped.Problems());
    }

    [Theory]
    [MemberData(nameof(Keys))]
    public void Every_skill_has_all_that_an_instructor_prepares_from(string key)
    {
        var skill = Shipped.Find(key)!;
        Assert.NotEmpty(skill.Aim);
        Assert.InRange(skill.Plain.Count, 2, 4);
        Assert.InRange(skill.Explain.Count, 4, 9);
        Assert.InRange(skill.Demonstrate.Count, 2, 5);
        Assert.InRange(skill.LookFor.Count, 4, 7);
        Assert.InRange(skill.Mistakes.Count, 3, 6);
        Assert.InRange(skill.Safety.Count, 2, 6);
        Assert.InRange(skill.Ask.Count, 3, 5);
        Assert.InRange(skill.Automatic.Count, 1, 4);
        Assert.InRange(skill.Manual.Count, 1, 4);
        Assert.InRange(skill.Rules.Count, 2, 7);
        Assert.InRange(skill.Practise.Count, 2, 4);
    }

    [Theory]
    [MemberData(nameof(Keys))]
    public void What_rests_on_a_publication_names_it_with_its_date(string key)
    {
        var skill = Shipped.Find(key)!;
        var points = new[] { skill.Explain, skill.Demonstrate, skill.LookFor, skill.Mistakes, skill.Safety, skill.Automatic, skill.Manual }.SelectMany(list => list).ToList();
        Assert.All(points, point => Assert.Equal(point.Source is null, point.SourceDate is null));
        var named = points.Select(point => point.Source).OfType<string>().Concat(skill.Rules.Select(rule => rule.Source));
        Assert.All(named, source => Assert.Contains(Publications, publication => source.StartsWith(publication, StringComparison.Ordinal)));
    }
}
