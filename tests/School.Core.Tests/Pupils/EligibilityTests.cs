using NodaTime;
using School.Core.Pupils;

namespace School.Core.Tests.Pupils;

// Ages: gov.uk/driving-lessons-learning-to-drive, read 25 November 2026. Eyesight: The Highway Code, rule 92 (20 June 2024).
public class EligibilityTests
{
    private static readonly LocalDate Born = new(2009, 11, 25);

    private static readonly LocalDate Seventeenth = new(2026, 11, 25);

    private static readonly LearnerFacts Ready = new(Born, Licence.Provisional(Born.PlusYears(16)), Seventeenth);

    [Fact]
    public void The_seventeenth_birthday_is_the_first_possible_day()
    {
        Assert.Equal(Seventeenth, LearnerAge.EarliestLesson(Born));
        Assert.Empty(Eligibility.Of(Ready, Seventeenth));

        var block = Assert.Single(Eligibility.Of(Ready with { EyesightCheckedOn = Born }, Seventeenth.PlusDays(-1)));
        Assert.Equal(("pupil_too_young", true), (block.Code, block.Stops));
        Assert.Contains("25 November 2026", block.Telling.ToStaff, StringComparison.Ordinal);
    }

    [Fact]
    public void That_a_pupil_has_left_is_told_before_age_and_licence()
    {
        var left = new LearnerFacts(Born, null, null, RetiredOn: Born.PlusYears(16));

        var blocks = Eligibility.Of(left, Born.PlusYears(16));
        Assert.Equal(["pupil_left", "pupil_too_young", "no_provisional_licence", "eyesight_unchecked"], blocks.Select(block => block.Code));
        Assert.True(blocks[0].Stops);
        Assert.Equal("pupil_too_young", Eligibility.Of(left, Born.PlusYears(16).PlusDays(-1))[0].Code);
    }

    [Fact]
    public void With_the_mobility_award_it_is_the_sixteenth()
    {
        Assert.Equal(new LocalDate(2025, 11, 25), LearnerAge.EarliestLesson(Born, hasMobilityAward: true));
        var facts = Ready with { EyesightCheckedOn = Born };
        Assert.Empty(Eligibility.Of(facts with { HasMobilityAward = true }, new LocalDate(2025, 11, 25)));
        Assert.Single(Eligibility.Of(facts, new LocalDate(2025, 11, 25)));
    }

    // Source, from memory: Age of Legal Capacity (Scotland) Act 1991 section 6(2); in England and Wales common practice.
    [Fact]
    public void Someone_born_on_29_February_turns_seventeen_on_1_March_and_twenty_on_29_February()
    {
        var leapDay = new LocalDate(2008, 2, 29);
        Assert.Equal(new LocalDate(2025, 3, 1), LearnerAge.EarliestLesson(leapDay));
        Assert.Equal(new LocalDate(2028, 2, 29), LearnerAge.Attains(leapDay, 20));
        Assert.Equal(new LocalDate(2025, 2, 28), LearnerAge.EarliestLesson(new LocalDate(2008, 2, 28)));
    }

    [Fact]
    public void A_lesson_needs_a_provisional_licence_valid_on_the_day()
    {
        var none = Assert.Single(Eligibility.Of(Ready with { Licence = null }, Seventeenth));
        Assert.Equal(("no_provisional_licence", true), (none.Code, none.Stops));

        var later = Ready with { Licence = Licence.Provisional(Seventeenth.PlusDays(1)) };
        var block = Assert.Single(Eligibility.Of(later, Seventeenth));
        Assert.Equal(("no_provisional_licence", true), (block.Code, block.Stops));
        Assert.Empty(Eligibility.Of(later, Seventeenth.PlusDays(1)));
    }

    [Fact]
    public void A_missing_eyesight_check_warns_but_does_not_stop()
    {
        var block = Assert.Single(Eligibility.Of(Ready with { EyesightCheckedOn = null }, Seventeenth));
        Assert.Equal(("eyesight_unchecked", false), (block.Code, block.Stops));
        Assert.StartsWith("Check before driving", block.Telling.ToStaff, StringComparison.Ordinal);
    }

    [Fact]
    public void Everything_wrong_is_listed_at_once_with_source_and_date()
    {
        var blocks = Eligibility.Of(new LearnerFacts(Born, null, null), Born.PlusYears(15));
        Assert.Equal(["pupil_too_young", "no_provisional_licence", "eyesight_unchecked"], blocks.Select(block => block.Code));
        Assert.All(blocks, block => Assert.True(block.Source.Length > 0 && block.SourceDate.Year >= 2024));
    }
}
