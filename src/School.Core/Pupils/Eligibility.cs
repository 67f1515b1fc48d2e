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
/// <param name="Code">Stable: <c>pupil_left</c>, <c>pupil_too_young</c>, <c>no_provisional_licence</c> or <c>eyesight_unchecked</c>; a rule that slot search asks too has its code there.</param>
/// <param name="Telling">What is wrong and what to do.</param>
/// <param name="Stops">True when the lesson must not be booked; false for a warning to be settled before driving off.</param>
/// <param name="Source">Where the rule is published.</param>
/// <param name="SourceDate">The date of that text, or the day it was read when it carries none.</param>
public sealed record EligibilityBlock(string Code, Telling Telling, bool Stops, string Source, LocalDate SourceDate);

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
                "pupil_left",
                new($"The pupil left on {Long.Format(left)}. Take the pupil back before you book.", $"You left the school on {Long.Format(left)}. Call the office to come back."),
                Stops: true,
                "The school's own records",
                left);
        }
    }

    private static IEnumerable<EligibilityBlock> Age(LearnerFacts pupil, LocalDate lessonDate)
    {
        var earliest = LearnerAge.EarliestLesson(pupil.BirthDate, pupil.HasMobilityAward);
        if (lessonDate < earliest)
        {
            yield return Stop(
                "pupil_too_young",
                new($"The pupil is too young on this date. The earliest lesson is on {Long.Format(earliest)}.",
                    $"You are too young to drive on this date. Your first lesson can be on {Long.Format(earliest)}."));
        }
    }

    private static IEnumerable<EligibilityBlock> Licence(LearnerFacts pupil, LocalDate lessonDate)
    {
        if (pupil.ProvisionalValidFrom is not { } validFrom)
        {
            yield return Stop(
                "no_provisional_licence",
                new("No provisional licence is recorded. Look at the licence and enter the day it is valid from.",
                    "The school has not seen your provisional licence yet, so you cannot book. Show it to your instructor, or call the school."));
        }
        else if (lessonDate < validFrom)
        {
            yield return Stop(
                "no_provisional_licence",
                new($"The provisional licence is valid only from {Long.Format(validFrom)}.",
                    $"Your provisional licence is valid from {Long.Format(validFrom)}. Lessons can be booked from that day."));
        }
    }

    private static IEnumerable<EligibilityBlock> Eyesight(LearnerFacts pupil, LocalDate lessonDate)
    {
        if (pupil.EyesightCheckedOn is null || pupil.EyesightCheckedOn > lessonDate)
        {
            yield return new(
                "eyesight_unchecked",
                new("Check before driving: the pupil reads a number plate at 20 metres, with glasses or contact lenses if worn.",
                    "Before your first drive your instructor asks you to read a number plate from 20 metres. Bring your glasses or lenses if you need them."),
                Stops: false,
                HighwayCode,
                HighwayCodeText);
        }
    }

    private static EligibilityBlock Stop(string code, Telling telling) =>
        new(code, telling, Stops: true, LearnersPage, LearnersPageRead);
}
