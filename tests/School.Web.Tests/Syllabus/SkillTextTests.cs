using CsCheck;
using NodaTime;
using School.Core.Syllabus;
using School.Web.Modules.Syllabus;
using School.Web.Modules.Syllabus.Editing;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Tests.Syllabus;

public sealed class SkillTextTests
{
    private static readonly Gen<string> Words = Gen.Char["abc é;,\"'()–½🙂[x"].Array[1, 30].Select(chars => CleanLine("a" + new string(chars)));
    private static readonly Gen<string> Sources = Gen.Char["abcé ,()0"].Array[1, 30].Select(chars => CleanLine("S" + new string(chars)));
    private static readonly Gen<LocalDate> Dates = Gen.Int[0, 9000].Select(days => new LocalDate(2005, 1, 1).PlusDays(days));
    private static readonly Gen<SkillPoint> Points =
        Gen.Select(Words, Sources, Dates, Gen.Bool, (text, source, date, has) => has ? new SkillPoint(text, source, date) : new SkillPoint(text));

    [Fact]
    public void What_is_written_out_for_the_form_is_read_back_the_same()
    {
        Gen.Select(Points.List[0, 6], Gen.Select(Words, Sources, Dates, (text, source, date) => new SkillRule(text, source, date)).List[0, 4],
            Gen.Select(Words, Words, (question, answer) => new SkillQuestion(question, answer)).List[0, 4], Words.List[0, 4]).Sample((points, rules, questions, lines) =>
        {
            var skill = new Skill { Key = "signals", Name = "Signals", Explain = points, Rules = rules, Ask = questions, Plain = lines };
            var form = SkillForm.Of(skill, "Observation");
            var read = form.Read("signals");
            Assert.True(read.Ok, read.Refusal?.For(null));
            var again = read.Value.Skill;
            Assert.Equal(points, again.Explain);
            Assert.Equal(rules, again.Rules);
            Assert.Equal(questions, again.Ask);
            Assert.Equal(lines, again.Plain);
        });
    }

    [Fact]
    public void Everything_that_is_shipped_goes_through_the_form_unchanged()
    {
        foreach (var group in SyllabusDefaults.GreatBritain().Groups)
        {
            foreach (var skill in group.Skills)
            {
                var read = SkillForm.Of(skill, group.Name).Read(skill.Key);
                Assert.True(read.Ok, $"{skill.Key}: {read.Refusal?.For(null)}");
                var edition = new SyllabusEdition(1, [new(group.Name, [skill])]);
                Assert.Equal([], EditionDifference.Sentences(edition, edition.Replace(read.Value.Skill, group.Name)));
            }
        }
    }

    [Theory]
    [InlineData("Leave a gap. [The Highway Code, rule 126; 20 June 2024]", "2024-06-20")]
    [InlineData("Leave a gap.[The Highway Code, rule 126;2024-06-20]", "2024-06-20")]
    [InlineData("Leave a gap. [The Highway Code, rule 126; 20 Jun 2024]", "2024-06-20")]
    [InlineData("Leave a gap. [The Highway Code, rule 126; 20/6/2024]", "2024-06-20")]
    public void A_source_is_read_with_its_date_however_it_is_written(string line, string date)
    {
        var errors = new FieldErrors();
        var point = Assert.Single(SkillText.ReadPoints(errors, "Explain", line));
        Assert.False(errors.Any);
        Assert.Equal(new SkillPoint("Leave a gap.", "The Highway Code, rule 126", NodaTime.Text.LocalDatePattern.Iso.Parse(date).Value), point);
    }

    [Theory]
    [InlineData("Leave a gap. [The Highway Code, rule 126]")]
    [InlineData("Leave a gap. [The Highway Code; last summer]")]
    [InlineData("Leave a gap. [; 20 June 2024]")]
    [InlineData("[The Highway Code; 20 June 2024]")]
    [InlineData("Leave a gap. [The Highway Code; 31 June 2024]")]
    public void A_source_that_cannot_be_read_is_told_with_its_line(string line)
    {
        var errors = new FieldErrors();
        SkillText.ReadPoints(errors, "Explain", $"First.\n\n{line}");
        var sentence = Assert.Single(Assert.Single(errors.ToRefusal()!.Fields).Value);
        Assert.StartsWith("Line 2: the source cannot be read.", sentence, StringComparison.Ordinal);
    }

    [Fact]
    public void A_rule_without_source_and_a_question_without_answer_are_told()
    {
        var errors = new FieldErrors();
        SkillText.ReadRules(errors, "Rules", "Stop at the line.");
        SkillText.ReadQuestions(errors, "Ask", "What is behind you?\n\nWhy look?\nBecause.");
        Assert.Equal(["Ask", "Rules"], errors.ToRefusal()!.Fields.Keys.Order());
    }

    [Theory]
    [InlineData("Meeting traffic", "meeting-traffic")]
    [InlineData("  Café – Übung 2! ", "cafe-ubung-2")]
    [InlineData("🙂", "skill")]
    [InlineData("signals", "signals-2")]
    public void A_key_is_made_from_the_name_and_is_new(string name, string key) =>
        Assert.Equal(key, SkillKeys.New(name, new HashSet<string> { "signals" }));

    // As the form keeps it; a text that ends with a bracket would read as a source and is refused.
    private static string CleanLine(string text) => CleanText.Line(text).TrimEnd('[', ' ');
}
