using NodaTime;
using School.Core.Pupils;

namespace School.Core.Tests.Pupils;

public sealed class PupilPapersTests
{
    private static readonly LocalDate Today = new(2026, 3, 2);

    private static readonly LearnerFacts InOrder = new(new(2007, 5, 4), Licence.Provisional(new(2024, 5, 4)), new(2025, 9, 1));

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
            [("licence_check_ends", PaperMatter.WillLapse, Date("2026-07-31")), ("theory_ends", PaperMatter.WillLapse, (LocalDate?)Date("2027-01-09"))],
            items.Select(item => (item.Code, item.Matter, item.On)));
        Assert.All(items, item => Assert.NotEmpty(item.Source));
    }

    // Every ground at once and one after the other: what the pupil reads says "you", what staff read never does.
    [Fact]
    public void Each_line_is_worded_for_its_reader()
    {
        LocalDate?[] days = [null, Today.PlusYears(-3), Today.PlusMonths(-22), Today.PlusMonths(-1), Today.PlusMonths(3)];
        var items =
            from born in new LocalDate[] { new(2010, 5, 4), new(2000, 1, 1) }
            from valid in days
            from theory in days
            from check in days
            from left in new LocalDate?[] { null, Today.PlusDays(-3) }
            from test in days
            from item in PupilPapers.Of(new(new(born, valid is null ? null : Licence.Provisional(valid.Value), check, RetiredOn: left), theory, check, test), Today)
            select item;
        Assert.All(items, item =>
        {
            Assert.DoesNotMatch("[Tt]he pupil", item.Telling.ToPupil);
            Assert.DoesNotMatch(@"\b[Yy]our\b", item.Telling.ToStaff);
        });
        Assert.Equal(13, items.Select(item => item.Code).Distinct().Count());
    }

    [Fact]
    public void What_blocks_a_lesson_comes_before_what_to_settle_first_and_what_blocks_a_test()
    {
        var nothingSeen = new LearnerFacts(new(2010, 5, 4), null, null);
        Assert.Equal(
            [
                ("pupil_too_young", PaperMatter.BlocksLesson), ("no_provisional_licence", PaperMatter.BlocksLesson), ("eyesight_unchecked", PaperMatter.BeforeLesson),
                ("licence_unchecked", PaperMatter.BeforeLesson), ("theory_missing", PaperMatter.BlocksTest),
            ],
            PupilPapers.Of(new(nothingSeen), Today).Select(item => (item.Code, item.Matter)));
    }

    [Theory]
    [InlineData("2024-06-02", "2026-06-01", "theory_ends")]
    [InlineData("2024-06-01", "2026-06-01", "theory_ends_before_test")]
    [InlineData("2024-03-03", null, "theory_ends")]
    [InlineData("2024-03-02", null, "theory_lapsed")]
    [InlineData(null, "2026-06-01", "theory_missing")]
    public void A_theory_certificate_must_last_until_the_test(string? passed, string? test, string code)
    {
        var facts = new PaperFacts(InOrder, passed is null ? null : Date(passed), Today, test is null ? null : Date(test));
        Assert.Contains(PupilPapers.Of(facts, Today), item => item.Code == code);
        Assert.Single(PupilPapers.Of(facts, Today), item => item.Code.StartsWith("theory", StringComparison.Ordinal));
    }

    [Fact]
    public void A_test_before_the_pupil_is_old_enough_or_the_licence_begins_is_blocked()
    {
        var young = new LearnerFacts(new(2009, 7, 1), Licence.Provisional(new(2026, 6, 15)), new(2026, 3, 1));
        var items = PupilPapers.Of(new(young, null, Today, new(2026, 6, 1)), Today).Where(item => item.Matter == PaperMatter.BlocksTest);
        Assert.Equal(["too_young_for_test", "no_provisional_for_test", "theory_missing"], items.Select(item => item.Code));
        Assert.DoesNotContain(PupilPapers.Of(new(young, null, Today, new(2026, 7, 1)), Today), item => item.Code == "too_young_for_test");
    }

    [Fact]
    public void Whoever_has_passed_needs_no_theory_certificate_any_more() => Assert.Equal(
        ["licence_unchecked"], PupilPapers.Of(new(InOrder, null, null, null, HasPassed: true, HoldsFull: true), Today).Select(item => item.Code));

    // Six months: common practice, no source.
    [Theory]
    [InlineData("2025-09-02", "licence_check_due")]
    [InlineData("2025-09-03", "licence_check_ends")]
    public void The_driving_record_is_looked_at_again_after_six_months(string seen, string code) =>
        Assert.Contains(PupilPapers.Of(new(InOrder, Today, Date(seen)), Today), item => item.Code == code);

    private static LocalDate Date(string text) => NodaTime.Text.LocalDatePattern.Iso.Parse(text).Value;
}
