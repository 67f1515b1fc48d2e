using NodaTime;
using School.Core.Cars;

namespace School.Core.Pupils;

/// <summary>What the diary needs to know about a pupil.</summary>
/// <param name="Id">The pupil.</param>
/// <param name="BirthDate">Date of birth; null while it is still to be asked. Somebody born on 29 February comes of age on 1 March, the later day (see <see cref="LearnerAge"/>).</param>
/// <param name="MobilityAward">Receives, or has applied for, the enhanced rate of the mobility part of PIP, and so may drive a car at 16
/// (https://www.gov.uk/driving-lessons-learning-to-drive).</param>
/// <param name="Gearbox">The gearbox the pupil learns in.</param>
/// <param name="Licence">The driving licence; null when none was seen.</param>
/// <param name="NeedsDualControls">Whether lessons must be in a car with dual controls.</param>
/// <param name="WeeklyMinutes">Most lesson minutes in one week, Monday to Sunday; null for no limit.</param>
/// <param name="Lessons">The pupil's booked lessons, with any instructor, and test days.</param>
/// <param name="EyesightFailedOn">Day of a failed eyesight check since which none was passed; null where there is none.</param>
/// <param name="Missing">What must be known before a first lesson and is not.</param>
public sealed record PupilFacts(
    Guid Id,
    LocalDate? BirthDate,
    bool MobilityAward,
    Gearbox Gearbox,
    Licence? Licence,
    bool NeedsDualControls,
    int? WeeklyMinutes,
    IReadOnlyList<PupilLesson> Lessons,
    LocalDate? EyesightFailedOn = null,
    FirstLessonNeeds Missing = FirstLessonNeeds.None)
{
    /// <summary>Whether time kept for a test of theirs begins in a period.</summary>
    internal bool HasTestIn(Stretch period)
    {
        for (var i = 0; i < Lessons.Count; i++)
        {
            if (Lessons[i].IsTest && Lessons[i].During.Start >= period.Start && Lessons[i].During.Start < period.End)
            {
                return true;
            }
        }

        return false;
    }
}

/// <summary>A booked lesson of a pupil.</summary>
/// <param name="Id">The lesson; the same as in the instructor's diary.</param>
/// <param name="During">When; half-open.</param>
/// <param name="CountsInWeek">Whether it counts towards the weekly limit; a test day only takes the time.</param>
public sealed record PupilLesson(Guid Id, Interval During, bool CountsInWeek = true)
{
    /// <summary>Minutes of rest within it; they do not count.</summary>
    public int BreakMinutes { get; init; }

    /// <summary>Whether it is a test day.</summary>
    public bool IsTest => !CountsInWeek;
}
