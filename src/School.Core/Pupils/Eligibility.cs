using NodaTime;
using NodaTime.Text;
using School.Core.Cars;

namespace School.Core.Pupils;

/// <summary>What is known of a pupil that the law asks about before a lesson on the road.</summary>
/// <param name="BirthDate">Date of birth; null while it is still to be asked.</param>
/// <param name="Licence">The driving licence; null when none has been seen.</param>
/// <param name="EyesightCheckedOn">Day the pupil read a number plate at the legal distance for an instructor; null when not yet.</param>
/// <param name="HasMobilityAward">Enhanced rate of the mobility component of PIP, held or applied for.</param>
/// <param name="RetiredOn">The day on which the pupil left the school; null for who takes lessons.</param>
/// <param name="Gearbox">The gearbox the pupil learns in.</param>
/// <param name="EyesightFailedOn">Day of a failed eyesight check since which none was passed; null where there is none.</param>
/// <param name="Missing">What the diary must know before a first lesson and does not.</param>
public sealed record LearnerFacts(
    LocalDate? BirthDate,
    Licence? Licence,
    LocalDate? EyesightCheckedOn,
    bool HasMobilityAward = false,
    LocalDate? RetiredOn = null,
    Gearbox Gearbox = Gearbox.Manual,
    LocalDate? EyesightFailedOn = null,
    FirstLessonNeeds Missing = FirstLessonNeeds.None)
{
    /// <summary>What the licence allows on a day in a car of the pupil's gearbox.</summary>
    public LicenceStanding StandingOn(LocalDate day) => Pupils.Licence.On(Licence, day, Gearbox, BirthDate);
}

/// <summary>Something that stands between a pupil and a lesson on a date.</summary>
/// <param name="Code">Stable: <c>pupil_left</c>, <c>details_missing</c>, <c>pupil_too_young</c>, those of <see cref="LicenceProblem"/>, <c>licence_glasses</c>,
/// <c>eyesight_failed</c> or <c>eyesight_unchecked</c>; a rule that slot search asks too has its code there.</param>
/// <param name="Telling">What is wrong and what to do.</param>
/// <param name="Stops">True when nobody drives as things stand; false for a warning to be settled before driving off. Where it is only not known yet, staff book all the same
/// (<see cref="IsOnlyUnseen"/>).</param>
/// <param name="Source">Where the rule is published.</param>
/// <param name="SourceDate">The date of that text, or the day it was read when it carries none.</param>
public sealed record EligibilityBlock(string Code, Telling Telling, bool Stops, string Source, LocalDate SourceDate)
{
    /// <summary>Whether it stops for nothing but that licence or date of birth are still to be seen and asked, which is done before driving.</summary>
    public bool IsOnlyUnseen { get; init; }
}

/// <summary>Whether a pupil may drive on the road as a learner on a given day (Great Britain, cars).</summary>
public static class Eligibility
{
    private const string LearnersPage = "gov.uk/driving-lessons-learning-to-drive";

    private const string HighwayCode = "The Highway Code, rule 92";

    private static readonly LocalDate LearnersPageRead = new(2026, 11, 25);

    private static readonly LocalDate HighwayCodeText = new(2024, 6, 20);

    private static readonly LocalDatePattern Long = LocalDatePattern.CreateWithInvariantCulture("d MMMM yyyy");

    /// <summary>Everything that stands in the way on the lesson date, most serious first, and first of all that the pupil has left; empty when nothing does.</summary>
    /// <param name="pupil">The pupil.</param>
    /// <param name="lessonDate">The day of the lesson.</param>
    /// <param name="today">From when it is told: what ended before it has ended; null where that is not known.</param>
    public static IReadOnlyList<EligibilityBlock> Of(LearnerFacts pupil, LocalDate lessonDate, LocalDate? today = null)
    {
        ArgumentNullException.ThrowIfNull(pupil);
        return [.. Left(pupil, lessonDate), .. Details(pupil), .. Age(pupil, lessonDate), .. Licence(pupil, lessonDate, today ?? LocalDate.MinIsoValue), .. Eyesight(pupil, lessonDate)];
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

    private static IEnumerable<EligibilityBlock> Details(LearnerFacts pupil)
    {
        if (pupil.Missing != FirstLessonNeeds.None)
        {
            yield return new(FirstLessonNeedsWords.Code, pupil.Missing.Telling(), Stops: true, "The school's own records", LearnersPageRead)
            {
                IsOnlyUnseen = (pupil.Missing & FirstLessonNeedsWords.ToBook) == FirstLessonNeeds.None,
            };
        }
    }

    private static IEnumerable<EligibilityBlock> Age(LearnerFacts pupil, LocalDate lessonDate)
    {
        if (pupil.BirthDate is { } born && LearnerAge.EarliestLesson(born, pupil.HasMobilityAward) is var earliest && lessonDate < earliest)
        {
            yield return Stop(
                "pupil_too_young",
                new($"The pupil is too young on this date. The earliest lesson is on {Long.Format(earliest)}.",
                    $"You are too young to drive on this date. Your first lesson can be on {Long.Format(earliest)}."));
        }
    }

    private static IEnumerable<EligibilityBlock> Licence(LearnerFacts pupil, LocalDate lessonDate, LocalDate today)
    {
        var standing = pupil.StandingOn(lessonDate);
        if (standing == LicenceStanding.NotSeen)
        {
            if (pupil.Missing.HasFlag(FirstLessonNeeds.Licence))
            {
                // Said already, with what else is missing.
                yield break;
            }

            yield return Stop(
                "no_provisional_licence",
                new("No provisional licence is recorded. Look at the licence and enter the day it is valid from.",
                    "The school has not seen your provisional licence yet, so you cannot book. Show it to your instructor, or call the school.")) with
            {
                IsOnlyUnseen = true,
            };
        }
        else if (LicenceProblem.Of(pupil.Licence, standing, pupil.BirthDate, today) is { } problem)
        {
            yield return new(problem.Code, problem.Telling, Stops: true, LicenceProblem.SourceOf(standing), SourceDateOf(standing));
        }
        else if (pupil.Licence!.NeedsGlasses)
        {
            yield return new(
                "licence_glasses",
                new("Code 01 on the licence: the pupil drives only with glasses or contact lenses on. See that they are worn.",
                    "Code 01 on your licence: you drive only with your glasses or contact lenses on. Bring them."),
                Stops: false,
                "gov.uk, driving licence codes, from memory",
                LearnersPageRead);
        }
    }

    private static LocalDate SourceDateOf(LicenceStanding standing) =>
        standing is LicenceStanding.ForeignEnded or LicenceStanding.Disqualified or LicenceStanding.SeenBeforeDisqualification ? HighwayCodeText : LearnersPageRead;

    private static IEnumerable<EligibilityBlock> Eyesight(LearnerFacts pupil, LocalDate lessonDate)
    {
        if (pupil.EyesightFailedOn is { } failed && lessonDate >= failed)
        {
            yield return new("eyesight_failed", EyesightFailed(failed), Stops: true, HighwayCode, HighwayCodeText);
        }
        else if (pupil.EyesightCheckedOn is null || pupil.EyesightCheckedOn > lessonDate)
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

    /// <summary>The sentence about an eyesight check that was failed.</summary>
    internal static Telling EyesightFailed(LocalDate failed) => new(
        $"The pupil could not read a number plate at 20 metres on {Long.Format(failed)}. No lesson on the road until a check is passed: ask again, and record it.",
        $"You could not read a number plate at 20 metres on {Long.Format(failed)}. See an optician, then ask your instructor for another check; no lesson on the road before you have passed it.");

    private static EligibilityBlock Stop(string code, Telling telling) =>
        new(code, telling, Stops: true, LearnersPage, LearnersPageRead);
}
