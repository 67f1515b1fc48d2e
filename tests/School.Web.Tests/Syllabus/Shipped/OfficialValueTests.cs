using System.Text.Json;
using System.Text.RegularExpressions;
using NodaTime;
using School.Core.Syllabus;
using School.Web.Modules.Syllabus;
using School.Web.Modules.Syllabus.Shipped;
using School.Web.Tests.Host;

namespace School.Web.Tests.Syllabus.Shipped;

/// <summary>Official values are said once as data, with source and date, and texts refer to them by name.</summary>
public sealed partial class OfficialValueTests
{
    private static readonly string Folder = Path.Combine(Sources.Root, "src/School.Web/Modules/Syllabus/Defaults/GreatBritain");
    private static readonly List<OfficialValue> Values = Parsed<List<OfficialValue>>(Path.Combine(Folder, "values.json"));
    private static readonly List<SkillGroup> Groups =
        [.. Directory.GetFiles(Folder, "*.json").Where(file => Path.GetFileName(file) != "values.json").Order(StringComparer.Ordinal).Select(Parsed<SkillGroup>)];

    private static readonly SyllabusEdition AsWritten = new(1, Groups);

    /// <summary>Where a value can hold; the words that a text says it by.</summary>
    private static readonly Dictionary<string, string[]> Nations = new()
    {
        ["Great Britain"] = [],
        ["England and Wales"] = ["England", "Wales"],
        ["England and Scotland"] = ["England", "Scotland"],
        ["Scotland"] = ["Scotland"],
        ["Wales"] = ["Wales"],
        ["Northern Ireland"] = ["Northern Ireland"],
    };

    [Fact]
    public void Every_value_is_referred_to() => Assert.Empty(ShippedTexts.Read(Values, Groups).Unused);

    [Fact]
    public void Every_value_names_a_publication_a_past_date_and_a_nation_that_there_is() => Assert.All(Values, value =>
    {
        Assert.Contains(value.Where, Nations.Keys);
        Assert.InRange(value.SourceDate, new LocalDate(1988, 1, 1), new LocalDate(2026, 11, 30));
        Assert.Matches("^(The Highway Code, (rule|annex) |gov\\.uk, |nidirect\\.gov\\.uk, |DVSA, )", value.Source);
    });

    [Fact]
    public void No_text_has_a_digit_of_its_own() =>
        Assert.DoesNotContain(GreatBritainTests.Texts(AsWritten), text => Digit().IsMatch(Reference().Replace(text.Text, "")));

    [Fact]
    public void No_text_writes_out_a_value_instead_of_naming_it()
    {
        var found = from value in Values
                    where value.Text.Contains(' ', StringComparison.Ordinal)
                    from text in GreatBritainTests.Texts(AsWritten)
                    where Regex.IsMatch(Reference().Replace(text.Text, ""), $@"\b{Regex.Escape(value.Text)}\b", RegexOptions.IgnoreCase)
                    select $"{text.Place}: {value.Name} in “{text.Text}”";
        Assert.Empty(found);
    }

    /// <summary>Alcohol, speed limits, tests of cars and parking on pavements differ between the nations.</summary>
    [Fact]
    public void A_text_with_a_value_of_one_nation_names_that_nation()
    {
        var byName = Values.ToDictionary(value => value.Name);
        foreach (var (place, text) in GreatBritainTests.Texts(AsWritten))
        {
            foreach (var nation in Reference().Matches(text).SelectMany(match => Nations[byName[match.Groups[1].Value].Where]))
            {
                Assert.True(text.Contains(nation, StringComparison.Ordinal), $"{place}: {text}");
            }
        }
    }

    [Fact]
    public void A_text_takes_the_source_of_its_values_and_what_rests_on_memory_says_so()
    {
        OfficialValue[] values =
        [
            new("gap", "two seconds", "Great Britain", "The Highway Code, rule 126", new(2024, 6, 20)),
            new("stop", "23 metres", "Great Britain", "The Highway Code, rule 126 (from memory)", new(2024, 6, 21)),
        ];
        var skill = Filled(values, new SkillPoint("At least {gap}."), new SkillPoint("{gap} and {stop}."), new SkillPoint("{stop}.", "DVSA", new(2026, 1, 1)), new SkillPoint("Look."));
        Assert.Equal(
            [
                new("At least two seconds.", "The Highway Code, rule 126", new LocalDate(2024, 6, 20)),
                new("Two seconds and 23 metres.", "The Highway Code, rule 126, and The Highway Code, rule 126 (from memory)", new LocalDate(2024, 6, 20)),
                new("23 metres.", "DVSA (from memory)", new LocalDate(2026, 1, 1)),
                new("Look."),
            ],
            skill.Explain);
    }

    [Fact]
    public void All_faults_of_the_files_are_told_at_once_with_their_places()
    {
        OfficialValue[] values =
        [
            new("gap", "two seconds", "Great Britain", "The Highway Code, rule 126", new(2024, 6, 20)), new("gap", "", "Great Britain", "S", new(2024, 6, 20)),
            new("The Gap", "two {seconds}", "", "S", new(2024, 6, 20)), new("unused", "9", "Wales", "S", new(2024, 6, 20)),
        ];
        var told = Assert.Throws<InvalidDataException>(() => Filled(values, new SkillPoint("At least {gapp}."), new SkillPoint("A { brace."), new SkillPoint("{Gap} {}."))).Message;
        Assert.Equal(
            [
                "Value “gap” stands there twice.",
                "Value “gap”: its text is missing or holds a brace.",
                "Value “The Gap”: a name is made of small letters, digits and single hyphens.",
                "Value “The Gap”: its text is missing or holds a brace.",
                "Value “The Gap”: its place where it holds is missing or holds a brace.",
                "signals, explain 1: no value is named “gapp”.",
                "signals, explain 2: a brace stands alone.",
                "signals, explain 3: no value is named “Gap”.",
                "signals, explain 3: no value is named “”.",
            ],
            told.Split('\n'));
    }

    [Fact]
    public void A_value_that_no_text_names_is_found() =>
        Assert.Equal(["spare"], ShippedTexts.Read([new("spare", "9", "Wales", "S", new(2024, 6, 20))], [new("G", [Signals(new SkillPoint("Look."))])]).Unused);

    private static Skill Filled(OfficialValue[] values, params SkillPoint[] points) => ShippedTexts.Read(values, [new("G", [Signals(points)])]).Groups[0].Skills[0];

    private static Skill Signals(params SkillPoint[] points) => new() { Key = "signals", Name = "Signals", Explain = points };

    private static T Parsed<T>(string file) => JsonSerializer.Deserialize<T>(File.ReadAllText(file), KeptEdition.Format)!;

    [GeneratedRegex(@"\{([^{}]*)\}")]
    private static partial Regex Reference();

    [GeneratedRegex(@"\d")]
    private static partial Regex Digit();
}
