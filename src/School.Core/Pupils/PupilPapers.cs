using NodaTime;
using NodaTime.Text;

namespace School.Core.Pupils;

/// <summary>What something about a pupil's papers stands in the way of.</summary>
public enum PaperMatter
{
    /// <summary>No lesson on the road until it is put right.</summary>
    BlocksLesson,

    /// <summary>To be settled before driving off.</summary>
    BeforeLesson,

    /// <summary>No practical test until it is put right.</summary>
    BlocksTest,

    /// <summary>In order now, until its day.</summary>
    WillLapse,
}

/// <summary>What is known of a pupil's papers.</summary>
/// <param name="Learner">What the law asks about before a lesson.</param>
/// <param name="TheoryPassedOn">The day the theory test was passed; null when no certificate was seen.</param>
/// <param name="LicenceCheckedOn">The day the school last looked at the driving record; null when never.</param>
/// <param name="TestOn">The day of the practical test ahead; null when none is entered.</param>
/// <param name="HasPassed">Whether a practical test was passed: then no theory test is waited for.</param>
/// <param name="HoldsFull">Whether a test was passed that allows driving the pupil's kind of car: then no test is waited for.</param>
public sealed record PaperFacts(
    LearnerFacts Learner, LocalDate? TheoryPassedOn = null, LocalDate? LicenceCheckedOn = null, LocalDate? TestOn = null, bool HasPassed = false, bool HoldsFull = false);

/// <summary>One line about a pupil's papers.</summary>
/// <param name="Code">Stable: those of <see cref="EligibilityBlock"/>, and <c>licence_ends</c>, <c>theory_missing</c>, <c>theory_lapsed</c>, <c>theory_ends_before_test</c>,
/// <c>theory_ends</c>, <c>too_young_for_test</c>, <c>no_provisional_for_test</c>, <c>licence_unchecked</c>, <c>licence_check_due</c> or <c>licence_check_ends</c>.</param>
/// <param name="Matter">What it stands in the way of.</param>
/// <param name="Telling">What it is and what to do.</param>
/// <param name="On">The day on which it lapses or lapsed, or from which it is in order; null where it has none.</param>
/// <param name="Source">Where the rule is published, or that it is common practice.</param>
/// <param name="SourceDate">The date of that text, or the day it was read or written down.</param>
public sealed record PaperItem(string Code, PaperMatter Matter, Telling Telling, LocalDate? On, string Source, LocalDate SourceDate);

/// <summary>One list of what blocks a lesson, what blocks a test and what will lapse.</summary>
public static class PupilPapers
{
    /// <summary>Months after which the school looks at the driving record again: common practice, no source.</summary>
    public const int LicenceCheckMonths = 6;

    private const string CommonPractice = "Common practice, no source";

    private static readonly LocalDate WrittenDown = new(2026, 11, 25);

    private static readonly LocalDatePattern Long = LocalDatePattern.CreateWithInvariantCulture("d MMMM yyyy");

    /// <summary>The day on which the next look at the driving record is due.</summary>
    public static LocalDate LicenceCheckDue(LocalDate checkedOn) => checkedOn.PlusMonths(LicenceCheckMonths);

    /// <summary>Everything on a day: blocks of a lesson first, then what to settle before one, blocks of a test, and what will lapse, soonest first.</summary>
    /// <param name="facts">What is known.</param>
    /// <param name="on">The day asked about.</param>
    /// <param name="today">From when it is told; the day asked about where that is not said.</param>
    public static IReadOnlyList<PaperItem> Of(PaperFacts facts, LocalDate on, LocalDate? today = null)
    {
        ArgumentNullException.ThrowIfNull(facts);
        return
        [
            .. Lesson(facts.Learner, on, today ?? on).Concat(LicenceEnds(facts.Learner, on)).Concat(LicenceCheck(facts.LicenceCheckedOn, on))
                .Concat(facts.HoldsFull ? [] : Test(facts, on)).Concat(!facts.HasPassed && Licence.NeedsTheory(facts.Learner.Licence) ? Theory(facts, on) : [])
                .OrderBy(item => item.Matter).ThenBy(item => item.Matter == PaperMatter.WillLapse ? item.On : null),
        ];
    }

    private static IEnumerable<PaperItem> Lesson(LearnerFacts learner, LocalDate on, LocalDate today) =>
        Eligibility.Of(learner, on, today).Select(block => new PaperItem(
            block.Code, block.Stops ? PaperMatter.BlocksLesson : PaperMatter.BeforeLesson, block.Telling, From(block.Code, learner), block.Source, block.SourceDate));

    private static LocalDate? From(string code, LearnerFacts learner) => code switch
    {
        "pupil_too_young" => LearnerAge.EarliestLesson(learner.BirthDate!.Value, learner.HasMobilityAward),
        "no_provisional_licence" => learner.Licence?.Kind == LicenceKind.Disqualified ? learner.Licence.DisqualifiedUntil : learner.Licence?.ValidFrom,
        "licence_ended" or "foreign_licence_ended" => learner.Licence?.LastDay(learner.BirthDate),
        "disqualified" => learner.Licence?.DisqualifiedUntil,
        "eyesight_failed" => learner.EyesightFailedOn,
        "pupil_left" => learner.RetiredOn,
        _ => null,
    };

    private static IEnumerable<PaperItem> LicenceEnds(LearnerFacts learner, LocalDate on)
    {
        if (learner.Licence is not { } licence || licence.LastDay(learner.BirthDate) is not { } last || !learner.StandingOn(on).MayDrive())
        {
            yield break;
        }

        if (licence.Beside is { } beside && (on > last || licence.GoesOnBeside(learner.BirthDate)))
        {
            if (on <= last)
            {
                yield return new(
                    "licence_ends", PaperMatter.WillLapse,
                    new Telling($"The foreign licence counts until {Long.Format(last)}; after that the pupil drives as a learner on the British provisional licence, with plates and somebody beside.",
                        $"Your foreign licence counts until {Long.Format(last)}; after that you drive as a learner on your British provisional licence, with plates and somebody beside you."),
                    last, LicenceProblem.SourceOf(LicenceStanding.ForeignEnded), WrittenDown);
            }

            if (beside.ValidUntil is { } until)
            {
                yield return new(
                    "licence_ends", PaperMatter.WillLapse, $"The provisional licence is valid until {Long.Format(until)}.", until, LicenceProblem.SourceOf(LicenceStanding.Ended), WrittenDown);
            }

            yield break;
        }

        var foreign = licence.ForeignLastDay(learner.BirthDate) == last;
        yield return new(
            "licence_ends", PaperMatter.WillLapse,
            foreign
                ? new Telling($"Who lives here may drive on this foreign licence until {Long.Format(last)}; after that a British one is needed.",
                    $"Because you live here you may drive on your foreign licence until {Long.Format(last)}; after that you need a British one.")
                : $"The driving licence is valid until {Long.Format(last)}.",
            last, foreign ? LicenceProblem.SourceOf(LicenceStanding.ForeignEnded) : LicenceProblem.SourceOf(LicenceStanding.Ended), WrittenDown);
    }

    private static IEnumerable<PaperItem> Test(PaperFacts facts, LocalDate on)
    {
        if (facts.TestOn is not { } test || test < on)
        {
            yield break;
        }

        if (facts.Learner.Licence is { Kind: LicenceKind.Foreign } foreign && foreign.Beside?.HoldsOn(test) != true)
        {
            yield return new(
                "no_provisional_for_test", PaperMatter.BlocksTest,
                foreign.Beside is null
                    ? new("A test is taken on a British provisional licence, not on a foreign one. Look at the provisional and enter it before the test.",
                        "A test is taken on a British provisional licence, not on a foreign one. Show the provisional to the school before the test.")
                    : NoProvisionalOn(test),
                null, LicenceProblem.SourceOf(LicenceStanding.ForeignEnded), WrittenDown);
            yield break;
        }

        // A failed eyesight check and what is not known yet stop lessons now, and have their lines.
        foreach (var block in Eligibility.Of(facts.Learner with { RetiredOn = null, EyesightFailedOn = null, Missing = FirstLessonNeeds.None }, test).Where(block => block.Stops))
        {
            var young = block.Code == "pupil_too_young";
            yield return new(
                young ? "too_young_for_test" : "no_provisional_for_test",
                PaperMatter.BlocksTest,
                young
                    ? new($"On the day of the test, {Long.Format(test)}, the pupil is still too young to drive.", $"On the day of your test, {Long.Format(test)}, you are still too young to drive.")
                    : NoProvisionalOn(test),
                From(block.Code, facts.Learner), block.Source, block.SourceDate);
        }
    }

    private static Telling NoProvisionalOn(LocalDate test) => new(
        $"No provisional licence valid on the day of the test, {Long.Format(test)}, is recorded. Without it no test is taken.",
        $"The school has not seen a provisional licence of yours that is valid on the day of the test, {Long.Format(test)}. Without it no test is taken.");

    private static IEnumerable<PaperItem> Theory(PaperFacts facts, LocalDate on)
    {
        if (facts.TheoryPassedOn is not { } passed || passed > on)
        {
            yield return Item(
                "theory_missing", PaperMatter.BlocksTest,
                new("No theory certificate is recorded. It comes before a practical test: look at it and enter the day it was passed.",
                    "The school has not seen your theory certificate. It comes before a practical test: show it to your instructor."),
                null);
            yield break;
        }

        var last = TheoryCertificate.LastDay(passed);
        if (last < on)
        {
            yield return Item(
                "theory_lapsed", PaperMatter.BlocksTest,
                $"The theory certificate counted until {Long.Format(last)}. The theory test must be passed again before a practical test.", last);
        }
        else if (last < facts.TestOn)
        {
            yield return Item(
                "theory_ends_before_test", PaperMatter.BlocksTest,
                new($"The theory certificate counts until {Long.Format(last)}, and the test is on {Long.Format(facts.TestOn.Value)}. The pupil needs an earlier test or a new theory test.",
                    $"Your theory certificate counts until {Long.Format(last)}, and your test is on {Long.Format(facts.TestOn.Value)}. You need an earlier test or a new theory test."),
                last);
        }
        else
        {
            yield return Item("theory_ends", PaperMatter.WillLapse, $"The theory certificate counts until {Long.Format(last)}: the practical test must be passed by then.", last);
        }

        static PaperItem Item(string code, PaperMatter matter, Telling telling, LocalDate? day) =>
            new(code, matter, telling, day, TheoryCertificate.Source, TheoryCertificate.SourceDate);
    }

    private static IEnumerable<PaperItem> LicenceCheck(LocalDate? checkedOn, LocalDate on)
    {
        if (checkedOn is not { } day || day > on)
        {
            yield return Item(
                "licence_unchecked", PaperMatter.BeforeLesson,
                new("The school has not looked at the driving record yet. Ask for the licence and a check code, then enter the day.",
                    "The school has not looked at your driving record yet. Bring your licence and a check code to the next lesson."),
                null);
            yield break;
        }

        var due = LicenceCheckDue(day);
        yield return due <= on
            ? Item(
                "licence_check_due", PaperMatter.BeforeLesson,
                $"The driving record was last looked at on {Long.Format(day)}. Look again: a licence can be taken away in between.", due)
            : Item("licence_check_ends", PaperMatter.WillLapse, $"The driving record is to be looked at again on {Long.Format(due)}.", due);

        static PaperItem Item(string code, PaperMatter matter, Telling telling, LocalDate? due) => new(code, matter, telling, due, CommonPractice, WrittenDown);
    }
}
