using NodaTime;
using NodaTime.Text;
using School.Core.Cars;
using School.Core.Diary;
using School.Core.Pupils;
using School.Core.Syllabus;

namespace School.Core.Tests.Pupils;

// Foreign licences: The Highway Code, Annex 3 (at most 12 months from becoming resident), and askthe.police.uk, Q417, an old copy (no plates, no
// supervisor within them). From the EU or the EEA: second-hand. Code 78 and what it is for a manual: from memory.
public sealed class LicenceTests
{
    private static readonly LocalDate Born = new(1990, 5, 4);

    [Theory]
    [InlineData(LicenceKind.Provisional, Gearbox.Manual, LicenceStanding.Learner)]
    [InlineData(LicenceKind.Provisional, Gearbox.Automatic, LicenceStanding.Learner)]
    [InlineData(LicenceKind.FullManual, Gearbox.Manual, LicenceStanding.Holder)]
    [InlineData(LicenceKind.FullManual, Gearbox.Automatic, LicenceStanding.Holder)]
    [InlineData(LicenceKind.FullAutomatic, Gearbox.Automatic, LicenceStanding.Holder)]
    [InlineData(LicenceKind.FullAutomatic, Gearbox.Manual, LicenceStanding.Learner)]
    public void A_full_licence_for_automatics_is_provisional_for_a_manual(LicenceKind kind, Gearbox gearbox, LicenceStanding standing) =>
        Assert.Equal(standing, Licence.On(new(kind, Date("2020-01-01")), Date("2026-03-02"), gearbox, Born));

    [Theory]
    [InlineData("78")]
    [InlineData("78.01")]
    [InlineData("106")]
    public void A_full_licence_whose_codes_say_automatics_only_is_provisional_for_a_manual_whatever_it_was_called(string code)
    {
        var licence = new Licence(LicenceKind.FullManual, Date("2020-01-01"), Conditions: [code]);
        Assert.Equal(LicenceStanding.Learner, Licence.On(licence, Date("2026-03-02"), Gearbox.Manual, Born));
        Assert.Equal(LicenceStanding.Holder, Licence.On(licence, Date("2026-03-02"), Gearbox.Automatic, Born));
    }

    // Within its months the foreign licence counts alone, also beside a provisional (askthe.police.uk, Q417, an old copy); after them the conditions of a provisional hold.
    [Theory]
    [InlineData("2025-06-01", null, "2026-02-27", LicenceStanding.Holder)]
    [InlineData("2025-06-01", null, "2026-02-28", LicenceStanding.Learner)]
    [InlineData("2025-06-01", "2026-03-01", "2026-03-01", LicenceStanding.Learner)]
    [InlineData("2025-06-01", "2026-03-01", "2026-03-02", LicenceStanding.ForeignEnded)]
    [InlineData("2026-03-05", null, "2026-03-04", LicenceStanding.ForeignEnded)]
    public void Of_a_foreign_licence_and_a_provisional_beside_it_whichever_stands_is_driven_on(string from, string? until, string on, LicenceStanding standing)
    {
        var licence = new Licence(LicenceKind.Foreign, Date("2015-01-01"), ResidentSince: Date("2025-02-28")) { Beside = new(Date(from), until is null ? null : Date(until)) };
        Assert.Equal(standing, Licence.On(licence, Date(on), Gearbox.Manual, Born));
        Assert.NotEqual(licence, licence with { Beside = null });
    }

    [Fact]
    public void Beside_a_foreign_licence_for_automatics_a_provisional_lets_its_holder_learn_in_a_manual()
    {
        var licence = new Licence(LicenceKind.Foreign, Date("2015-01-01"), ResidentSince: Date("2026-01-01"), Conditions: ["78"]) { Beside = new(Date("2025-06-01")) };
        Assert.Equal(LicenceStanding.Learner, Licence.On(licence, Date("2026-03-02"), Gearbox.Manual, Born));
        Assert.Equal(LicenceStanding.Holder, Licence.On(licence, Date("2026-03-02"), Gearbox.Automatic, Born));
    }

    // The Highway Code, Annexes 5 and 8: who is disqualified drives not at all; who is revoked begins again as a learner, with both tests.
    [Fact]
    public void A_pass_stands_until_a_disqualification_or_a_provisional_licence_that_came_after_it()
    {
        var passed = Date("2026-03-02");
        Assert.True(Licence.PassStands(null, passed));
        Assert.True(Licence.PassStands(Licence.Provisional(Date("2024-05-01")), passed));
        Assert.True(Licence.PassStands(new(LicenceKind.FullManual, Date("2026-03-10")), passed));
        Assert.False(Licence.PassStands(Licence.Provisional(Date("2027-06-02")), passed));
        Assert.False(Licence.PassStands(new(LicenceKind.Disqualified, null, DisqualifiedUntil: Date("2027-06-01")), passed));
    }

    [Theory]
    [InlineData("2025-03-02", "2026-03-01")]
    [InlineData("2024-02-29", "2025-02-27")]
    [InlineData("2025-02-28", "2026-02-27")]
    public void A_foreign_licence_counts_twelve_months_from_becoming_resident(string since, string last)
    {
        var licence = new Licence(LicenceKind.Foreign, Date("2015-01-01"), ResidentSince: Date(since));
        Assert.Equal(LicenceStanding.Holder, Licence.On(licence, Date(last), Gearbox.Manual, Born));
        Assert.Equal(LicenceStanding.ForeignEnded, Licence.On(licence, Date(last).PlusDays(1), Gearbox.Manual, Born));
    }

    [Theory]
    [InlineData("1990-05-04", "2025-03-02", "2060-05-03")] // to the age of 70
    [InlineData("1955-05-04", "2025-03-02", "2028-03-01")] // or three years, whichever is later
    public void One_from_the_EU_counts_to_seventy_or_three_years(string born, string since, string last)
    {
        var licence = new Licence(LicenceKind.Foreign, Date("2015-01-01"), ResidentSince: Date(since), FromEea: true);
        Assert.Equal(Date(last), licence.LastDay(Date(born)));
        Assert.Equal(LicenceStanding.ForeignEnded, Licence.On(licence, Date(last).PlusDays(1), Gearbox.Manual, Date(born)));
    }

    [Fact]
    public void The_earlier_of_two_last_days_decides()
    {
        var licence = new Licence(LicenceKind.Foreign, Date("2015-01-01"), Date("2025-06-30"), Date("2025-03-02"));
        Assert.Equal(Date("2025-06-30"), licence.LastDay(Born));
        Assert.Equal(LicenceStanding.Ended, Licence.On(licence, Date("2025-07-01"), Gearbox.Manual, Born));
    }

    [Fact]
    public void A_foreign_licence_with_code_78_is_none_for_a_manual()
    {
        var licence = new Licence(LicenceKind.Foreign, Date("2015-01-01"), ResidentSince: Date("2026-01-01"), Conditions: ["01", "78"]);
        Assert.Equal(LicenceStanding.ForeignAutomaticOnly, Licence.On(licence, Date("2026-03-02"), Gearbox.Manual, Born));
        Assert.Equal(LicenceStanding.Holder, Licence.On(licence, Date("2026-03-02"), Gearbox.Automatic, Born));
    }

    [Fact]
    public void Nobody_drives_before_a_licence_begins_after_it_ends_or_while_disqualified()
    {
        var licence = new Licence(LicenceKind.Provisional, Date("2024-05-04"), Date("2026-03-14"));
        Assert.Equal(
            [LicenceStanding.NotYetValid, LicenceStanding.Learner, LicenceStanding.Learner, LicenceStanding.Ended],
            new[] { "2024-05-03", "2024-05-04", "2026-03-14", "2026-03-15" }.Select(day => Licence.On(licence, Date(day), Gearbox.Manual, Born)));
        var off = new Licence(LicenceKind.Disqualified, null, DisqualifiedUntil: Date("2026-03-14"));
        Assert.Equal(LicenceStanding.Disqualified, Licence.On(off, Date("2026-03-14"), Gearbox.Manual, Born));
        Assert.Equal(LicenceStanding.SeenBeforeDisqualification, Licence.On(off, Date("2026-03-15"), Gearbox.Manual, Born));
        Assert.Equal(LicenceStanding.NotSeen, Licence.On(null, Date("2026-03-15"), Gearbox.Manual, Born));
    }

    [Fact]
    public void What_stops_a_lesson_has_a_code_a_sentence_for_its_reader_and_a_source()
    {
        var day = Date("2026-03-02");
        (Licence Licence, string Code)[] all =
        [
            (new(LicenceKind.Provisional, Date("2016-05-04"), Date("2026-03-01")), "licence_ended"),
            (new(LicenceKind.Foreign, Date("2015-01-01"), ResidentSince: Date("2025-03-02")), "foreign_licence_ended"),
            (new(LicenceKind.Disqualified, null, DisqualifiedUntil: day), "disqualified"),
            (new(LicenceKind.Disqualified, null, DisqualifiedUntil: Date("2026-03-01")), "no_provisional_licence"),
            (new(LicenceKind.Foreign, Date("2015-01-01"), ResidentSince: Date("2026-01-01"), Conditions: ["78"]), "no_provisional_licence"),
        ];
        foreach (var (licence, code) in all)
        {
            var block = Assert.Single(Eligibility.Of(new(Born, licence, Born), day));
            Assert.Equal((code, true), (block.Code, block.Stops));
            Assert.DoesNotMatch("[Tt]he pupil", block.Telling.ToPupil);
            Assert.DoesNotMatch(@"\b[Yy]our?\b", block.Telling.ToStaff);
            Assert.NotEmpty(block.Source);
        }
    }

    // A day that is past has ended something, and one to come ends it.
    [Theory]
    [InlineData("2026-03-01", "ended on 1 March 2026", "could drive")]
    [InlineData("2026-03-02", "ends on 2 March 2026", "may drive")]
    public void What_ended_is_told_as_past_and_what_will_end_as_to_come(string last, string provisional, string foreign)
    {
        var (today, lesson) = (Date("2026-03-02"), Date("2026-03-20"));
        var card = new Licence(LicenceKind.Provisional, Date("2016-05-04"), Date(last));
        var abroad = new Licence(LicenceKind.Foreign, Date("2015-01-01"), ResidentSince: Date(last).PlusYears(-1).PlusDays(1));
        foreach (var (licence, words) in new[] { (card, provisional), (abroad, foreign) })
        {
            var told = Assert.Single(Eligibility.Of(new(Born, licence, Born), lesson, today)).Telling;
            Assert.Contains(words, told.ToStaff, StringComparison.Ordinal);
            Assert.Contains(words, told.ToPupil, StringComparison.Ordinal);
        }
    }

    [Fact]
    public void A_failed_eyesight_check_stops_lessons_and_is_no_unchecked_one()
    {
        var failed = new LearnerFacts(Born, Licence.Provisional(Date("2024-05-04")), null, EyesightFailedOn: Date("2026-03-02"));
        var block = Assert.Single(Eligibility.Of(failed, Date("2026-03-02")));
        Assert.Equal(("eyesight_failed", true), (block.Code, block.Stops));
        Assert.Contains("2 March 2026", block.Telling.ToPupil, StringComparison.Ordinal);
    }

    [Fact]
    public void Code_01_is_told_and_stops_nothing()
    {
        var glasses = new Licence(LicenceKind.Provisional, Date("2024-05-04"), Conditions: ["01.06"]);
        var block = Assert.Single(Eligibility.Of(new(Born, glasses, Born), Date("2026-03-02")));
        Assert.Equal(("licence_glasses", false), (block.Code, block.Stops));
    }

    // gov.uk/apply-emergency-theory-test, copy of 2020-21: no theory test from automatic to manual.
    [Theory]
    [InlineData(LicenceKind.FullAutomatic, new[] { "licence_ends" })]
    [InlineData(LicenceKind.FullManual, new[] { "licence_ends" })]
    [InlineData(LicenceKind.Provisional, new[] { "theory_missing", "licence_ends" })]
    public void Who_holds_a_full_licence_needs_no_theory_certificate(LicenceKind kind, string[] codes)
    {
        var learner = new LearnerFacts(Born, new(kind, Date("2020-01-01"), Date("2030-01-01")), Born);
        var today = Date("2026-03-02");
        Assert.Equal(codes, PupilPapers.Of(new(learner, null, today, today.PlusMonths(2)), today).Select(item => item.Code).Where(code => code != "licence_check_ends"));
    }

    [Fact]
    public void A_test_is_not_taken_on_a_foreign_licence()
    {
        var learner = new LearnerFacts(Born, new(LicenceKind.Foreign, Date("2015-01-01"), ResidentSince: Date("2026-01-01")), Born);
        var today = Date("2026-03-02");
        Assert.Contains(PupilPapers.Of(new(learner, today, today, today.PlusMonths(2)), today), item => (item.Code, item.Matter) == ("no_provisional_for_test", PaperMatter.BlocksTest));
    }

    // The Highway Code, rule 253, speaks of provisional licences: who holds a full one is not bound.
    [Fact]
    public void The_motorway_rule_binds_learners_only()
    {
        Assert.Equal("motorway_needs_adi", MotorwayRule.Of(RegistrationKind.Trainee, dualControls: false)?.Code);
        Assert.Null(MotorwayRule.Of(RegistrationKind.Trainee, dualControls: false, isLearner: false));
    }

    [Theory]
    [InlineData("01", true)]
    [InlineData(" 78 ", true)]
    [InlineData("101", true)]
    [InlineData("01.06", true)]
    [InlineData("1", false)]
    [InlineData("01.6", false)]
    [InlineData("01.", false)]
    [InlineData("0101", false)]
    [InlineData("A1", false)]
    [InlineData(null, false)]
    public void Codes_are_read_as_a_card_has_them(string? typed, bool good) => Assert.Equal(good, LicenceCodes.TryParse(typed, out _));

    private static LocalDate Date(string text) => LocalDatePattern.Iso.Parse(text).Value;
}
