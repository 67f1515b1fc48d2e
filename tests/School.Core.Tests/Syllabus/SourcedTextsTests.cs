using NodaTime;
using School.Core.Syllabus;

namespace School.Core.Tests.Syllabus;

public sealed class SourcedTextsTests
{
    private static readonly LocalDate Today = new(2026, 11, 26);

    [Theory]
    [InlineData("2025-11-26", false)] // a year ago today
    [InlineData("2025-11-25", true)]
    [InlineData("2026-11-26", false)]
    public void A_text_is_old_when_its_source_is_dated_more_than_a_year_ago(string date, bool old) =>
        Assert.Equal(old, SourcedTexts.OldOn(Edition(Point("Signal early.", "The Highway Code, rule 103", date)), Today).Count == 1);

    [Fact]
    public void The_day_of_a_leap_year_has_its_anniversary_on_the_last_of_February()
    {
        var edition = Edition(Point("Signal early.", "The Highway Code, rule 103", "2028-02-29"));
        Assert.Empty(SourcedTexts.OldOn(edition, new(2029, 2, 28)));
        Assert.Single(SourcedTexts.OldOn(edition, new(2029, 3, 1)));
    }

    [Fact]
    public void What_is_from_memory_is_there_whatever_its_date_and_common_practice_never()
    {
        var edition = Edition(Point("Signal early.", "The Highway Code, rule 103 (from memory)", "2026-11-26"), new SkillPoint("Look first."));
        var text = Assert.Single(SourcedTexts.OldOn(edition, Today));
        Assert.Equal((true, "explain", "signals"), (text.FromMemory, text.Part, text.Skill.Key));
    }

    [Fact]
    public void Sources_that_were_read_are_dated_that_day_in_every_list_and_only_they()
    {
        var point = Point("A.", "S (from memory)", "2024-06-20");
        var other = Point("B.", "S", "2024-06-20");
        var skill = new Skill
        {
            Key = "signals",
            Name = "Signals",
            Explain = [point, other],
            Demonstrate = [point],
            LookFor = [point],
            Mistakes = [point],
            Safety = [point],
            Automatic = [point],
            Manual = [point],
            Rules = [new("R.", "S (from memory)", new(2024, 6, 20)), new("Q.", "S", new(2024, 6, 20))],
        };
        var read = new SyllabusEdition(3, [new("Observation", [skill])]).Reread(new HashSet<TextSource> { new("S (from memory)", new(2024, 6, 20)) }, Today);
        var now = read.Skills.Single();
        var dated = new SkillPoint("A.", "S", Today);
        Assert.Equal([dated, other], now.Explain);
        Assert.All([now.Demonstrate, now.LookFor, now.Mistakes, now.Safety, now.Automatic, now.Manual], list => Assert.Equal([dated], list));
        Assert.Equal([new("R.", "S", Today), new("Q.", "S", new(2024, 6, 20))], now.Rules);
        Assert.Equal(["explain", "rules"], SourcedTexts.OldOn(read, Today).Select(text => text.Part));
    }

    private static SkillPoint Point(string text, string source, string date) => new(text, source, NodaTime.Text.LocalDatePattern.Iso.Parse(date).Value);

    private static SyllabusEdition Edition(params SkillPoint[] points) => new(1, [new("Observation", [new Skill { Key = "signals", Name = "Signals", Explain = points }])]);
}
