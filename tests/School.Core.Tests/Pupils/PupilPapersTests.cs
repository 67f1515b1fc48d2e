using NodaTime;
using School.Core.Pupils;

namespace School.Core.Tests.Pupils;

public sealed class PupilPapersTests
{
    private static readonly LocalDate Today = new(2026, 3, 2);

    private static readonly LearnerFacts InOrder = new(new(2007, 5, 4), new(2024, 5, 4), new(2025, 9, 1));

    // Two years: from memory. The second anniversary itself is left out, the safe side.
    [Theory]
    [InlineData("2024-03-15", "2026-03-14")]
    [InlineData("2024-03-01", "2026-02-28")]
    [InlineData("2024-02-29", "2026-02-27")]
    public void A_theory_certificate_counts_two_years(string passed, string last) => Assert.Equal(Date(last), TheoryCertificate.LastDay(Date(passed)));

    [Fact]
    public void Papers_in_order_only_say_what_will_lapse_soonest_first()
    {
        var items = PupilPapers.Of(new(InOrder, new(2025, 1, 10), new(2026, 1, 31), new(2026, 6, 1)), Today);
        Assert.Equal(
            [("licence-check-ends", PaperMatter.WillLapse, Date("2026-07-31")), ("theory-ends", PaperMatter.WillLapse, (LocalDate?)Date("2027-01-09"))],
            items.Select(item => (item.Code, item.Matter, item.On)));
        Assert.All(items, item => Assert.NotEmpty(item.Source));
    }

    [Fact]
    public void What_blocks_a_lesson_comes_before_what_to_settle_first_and_what_blocks_a_test()
    {
        var nothingSeen = new LearnerFacts(new(2010, 5, 4), null, null);
        Assert.Equal(
            [
                ("too-young", PaperMatter.BlocksLesson), ("no-provisional", PaperMatter.BlocksLesson), ("eyesight-unchecked", PaperMatter.BeforeLesson),
                ("licence-unchecked", PaperMatter.BeforeLesson), ("theory-missing", PaperMatter.BlocksTest),
            ],
            PupilPapers.Of(new(nothingSeen), Today).Select(item => (item.Code, item.Matter)));
    }

    [Theory]
    [InlineData("2024-06-02", "2026-06-01", "theory-ends")]
    [InlineData("2024-06-01", "2026-06-01", "theory-ends-before-test")]
    [InlineData("2024-03-03", null, "theory-ends")]
    [InlineData("2024-03-02", null, "theory-lapsed")]
    [InlineData(null, "2026-06-01", "theory-missing")]
    public void A_theory_certificate_must_last_until_the_test(string? passed, string? test, string code)
    {
        var facts = new PaperFacts(InOrder, passed is null ? null : Date(passed), Today, test is null ? null : Date(test));
        Assert.Contains(PupilPapers.Of(facts, Today), item => item.Code == code);
        Assert.Single(PupilPapers.Of(facts, Today), item => item.Code.StartsWith("theory", StringComparison.Ordinal));
    }

    [Fact]
    public void A_test_before_the_pupil_is_old_enough_or_the_licence_begins_is_blocked()
    {
        var young = new LearnerFacts(new(2009, 7, 1), new(2026, 6, 15), new(2026, 3, 1));
        var items = PupilPapers.Of(new(young, null, Today, new(2026, 6, 1)), Today).Where(item => item.Matter == PaperMatter.BlocksTest);
        Assert.Equal(["too-young-for-test", "no-provisional-for-test", "theory-missing"], items.Select(item => item.Code));
        Assert.DoesNotContain(PupilPapers.Of(new(young, null, Today, new(2026, 7, 1)), Today), item => item.Code == "too-young-for-test");
    }

    [Fact]
    public void Whoever_has_passed_needs_no_theory_certificate_any_more() => Assert.Equal(
        ["licence-unchecked"], PupilPapers.Of(new(InOrder, null, null, null, HasPassed: true), Today).Select(item => item.Code));

    // Six months: common practice, no source.
    [Theory]
    [InlineData("2025-09-02", "licence-check-due")]
    [InlineData("2025-09-03", "licence-check-ends")]
    public void The_driving_record_is_looked_at_again_after_six_months(string seen, string code) =>
        Assert.Contains(PupilPapers.Of(new(InOrder, Today, Date(seen)), Today), item => item.Code == code);

    private static LocalDate Date(string text) => NodaTime.Text.LocalDatePattern.Iso.Parse(text).Value;
}
