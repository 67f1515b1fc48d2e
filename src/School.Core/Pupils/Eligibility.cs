using NodaTime;
using NodaTime.Text;

namespace School.Core.Pupils;

/// <summary>What is known of a pupil that the law asks about before a lesson on the road.</summary>
/// <param name="BirthDate">Date of birth.</param>
/// <param name="ProvisionalValidFrom">First day of the provisional licence; null when none has been seen.</param>
/// <param name="EyesightCheckedOn">Day the pupil read a number plate at the legal distance for an instructor; null when not yet.</param>
/// <param name="HasMobilityAward">Enhanced rate of the mobility component of PIP, held or applied for.</param>
/// <param name="RetiredOn">The day on which the pupil left the school; null for who takes lessons.</param>
public sealed record LearnerFacts(
    LocalDate BirthDate,
    LocalDate? ProvisionalValidFrom,
    LocalDate? EyesightCheckedOn,
    bool HasMobilityAward = false,
    LocalDate? RetiredOn = null);

/// <summary>Something that stands between a pupil and a lesson on a date.</summary>
/// <param name="Code">Stable: <c>pupil-retired</c>, <c>too-young</c>, <c>no-provisional</c>, <c>provisional-not-yet-valid</c> or <c>eyesight-unchecked</c>.</param>
/// <param name="Sentence">What is wrong and what to do.</param>
/// <param name="Stops">True when the lesson must not be booked; false for a warning to be settled before driving off.</param>
/// <param name="Source">Where the rule is published.</param>
/// <param name="SourceDate">The date of that text, or the day it was read when it carries none.</param>
public sealed record EligibilityBlock(string Code, string Sentence, bool Stops, string Source, LocalDate SourceDate);

/// <summary>Whether a pupil may drive on the road as a learner on a given day (Great Britain, cars).</summary>
public static class Eligibility
{
    private const string LearnersPage = "gov.uk/driving-lessons-learning-to-drive";

    private const string HighwayCode = "The Highway Code, rule 92";

    private static readonly LocalDate LearnersPageRead = new(2026, 11, 25);

    private static readonly LocalDate HighwayCodeText = new(2024, 6, 20);

    private static readonly LocalDatePattern Long = LocalDatePattern.CreateWithInvariantCulture("d MMMM yyyy");

    /// <summary>Everything that stands in the way on the lesson date, most serious first, and first of all that the pupil has left; empty when nothing does.</summary>
    public static IReadOnlyList<EligibilityBlock> Of(LearnerFacts pupil, LocalDate lessonDate)
    {
        ArgumentNullException.ThrowIfNull(pupil);
        return [.. Left(pupil, lessonDate), .. Age(pupil, lessonDate), .. Licence(pupil, lessonDate), .. Eyesight(pupil, lessonDate)];
    }

    private static IEnumerable<EligibilityBlock> Left(LearnerFacts pupil, LocalDate lessonDate)
    {
        if (pupil.RetiredOn is { } left && lessonDate >= left)
        {
            yield return new(
                "pupil-retired", $"The pupil left on {Long.Format(left)}. Take the pupil back before you book.", Stops: true, "The school's own records", left);
        }
    }

    private static IEnumerable<EligibilityBlock> Age(LearnerFacts pupil, LocalDate lessonDate)
    {
        var earliest = LearnerAge.EarliestLesson(pupil.BirthDate, pupil.HasMobilityAward);
        if (lessonDate < earliest)
        {
            yield return Stop("too-young", $"The pupil is too young on this date. The earliest lesson is on {Long.Format(earliest)}.");
        }
    }

    private static IEnumerable<EligibilityBlock> Licence(LearnerFacts pupil, LocalDate lessonDate)
    {
        if (pupil.ProvisionalValidFrom is not { } validFrom)
        {
            yield return Stop("no-provisional", "No provisional licence is recorded. Look at the licence and enter the day it is valid from.");
        }
        else if (lessonDate < validFrom)
        {
            yield return Stop("provisional-not-yet-valid", $"The provisional licence is valid only from {Long.Format(validFrom)}.");
        }
    }

    private static IEnumerable<EligibilityBlock> Eyesight(LearnerFacts pupil, LocalDate lessonDate)
    {
        if (pupil.EyesightCheckedOn is null || pupil.EyesightCheckedOn > lessonDate)
        {
            yield return new(
                "eyesight-unchecked",
                "Check before driving: the pupil reads a number plate at 20 metres, with glasses or contact lenses if worn.",
                Stops: false,
                HighwayCode,
                HighwayCodeText);
        }
    }

    private static EligibilityBlock Stop(string code, string sentence) =>
        new(code, sentence, Stops: true, LearnersPage, LearnersPageRead);
}
