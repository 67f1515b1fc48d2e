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
        "nidirect.gov.uk", "Transport (Scotland) Act 2019",
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

    [Fact]
    public void Nothing_is_said_twice_in_a_skill_with_the_same_source_and_no_text_names_a_grip_or_lets_the_driver_relax()
    {
        var texts = Texts(Shipped).ToList();
        // DT1 as quoted: no fault for one grip rather than another.
        Assert.DoesNotContain(texts, text => text.Text.Contains("nine and three", StringComparison.OrdinalIgnoreCase) || text.Text.Contains("ten and two", StringComparison.OrdinalIgnoreCase));
        Assert.DoesNotContain(texts, text => text.Text.Contains("relax", StringComparison.OrdinalIgnoreCase));
        Assert.Empty(Shipped.Skills.SelectMany(skill => SourcedTexts.Of(Shipped).Where(text => text.Skill == skill).GroupBy(text => text.Text).Where(same => same.Count() > 1)).Select(same => same.Key));
    }

    /// <summary>What a practitioner looks for by name: where it stands, and a rule or point of it with its source.</summary>
    [Theory]
    [InlineData("safe-positioning", "Bus lanes", "The Highway Code, rule 141")]
    [InlineData("safe-positioning", "One-way streets", "The Highway Code, rule 143")]
    [InlineData("other-traffic", "Trams", "The Highway Code, rules 224, 301 and 304 to 306")]
    [InlineData("other-traffic", "between the kerb and a tram", "The Highway Code, rules 300, 302 and 303")]
    [InlineData("anticipation-and-planning", "Road works", "The Highway Code, rules 134 and 288")]
    [InlineData("dual-carriageways", "Road works on a fast road", "The Highway Code, rules 289 and 290")]
    [InlineData("parking", "forbidden in London", "The Highway Code, rule 244")]
    [InlineData("parking", "In Scotland parking on a pavement", "Transport (Scotland) Act 2019, and The Highway Code as changed on 10 April 2025 (from memory)")]
    [InlineData("parking", "hand-held remote control", "The Highway Code, rules 149 and 239")]
    [InlineData("country-roads", "warning triangle stands at least 45 metres", "The Highway Code, rule 276")]
    [InlineData("motorways", "No warning triangle", "The Highway Code, rules 275 to 278")]
    [InlineData("junctions", "Amber means stop", "The Highway Code, rules 175 to 178")]
    [InlineData("pedestrian-crossings", "steady amber light unless", "The Highway Code, rules 175 and 196")]
    [InlineData("legal-responsibilities", "Adult Disability Payment", "gov.uk, Driving lessons and learning to drive (from memory)")]
    [InlineData("use-of-speed", "Northern Ireland", "gov.uk, Driving lessons and learning to drive, as read on this date")]
    [InlineData("controls-and-instruments", "one grip rather than another is no fault", "DVSA, guidance for driving examiners DT1, as quoted, read on this date")]
    public void It_has_a_place_for(string key, string words, string source) =>
        Assert.Contains(SourcedTexts.Of(Shipped), text => text.Skill.Key == key && text.Text.Contains(words, StringComparison.Ordinal) && text.Source == source);

    [Theory]
    [InlineData("security", "electric parking brake")]
    [InlineData("controls-and-instruments", "auto hold")]
    [InlineData("moving-away-and-stopping", "electric parking brake")]
    public void Electric_parking_brakes_are_taught_with(string key, string words) =>
        Assert.Contains(Shipped.Find(key)!.Explain, point => point.Text.Contains(words, StringComparison.Ordinal));

    // The Highway Code, rule 149: an emergency call, a contactless payment, and parking by a legal remote control.
    [Theory]
    [InlineData("legal-responsibilities")]
    [InlineData("independent-driving")]
    public void All_three_exceptions_for_hand_held_devices_are_told(string key)
    {
        var text = Shipped.Find(key)!.Rules.Single(rule => rule.Text.Contains("for any purpose", StringComparison.Ordinal)).Text;
        Assert.All(["999", "contactless payment", "remote control"], words => Assert.Contains(words, text, StringComparison.Ordinal));
    }

    internal static IEnumerable<(string Place, string Text)> Texts(SyllabusEdition edition) => edition.Skills.SelectMany(skill => Texts(skill).Select(text => (skill.Key, text)));

    private static IEnumerable<string> Texts(Skill skill) =>
    [
        skill.Aim, .. skill.Plain, .. skill.Practise, .. skill.Rules.Select(rule => rule.Text), .. skill.Ask.SelectMany(ask => new[] { ask.Question, ask.Answer }),
        .. new[] { skill.Explain, skill.Demonstrate, skill.LookFor, skill.Mistakes, skill.Safety, skill.Automatic, skill.Manual }.SelectMany(list => list.Select(point => point.Text)),
    ];
}
