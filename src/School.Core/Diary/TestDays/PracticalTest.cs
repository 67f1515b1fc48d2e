using NodaTime;
using School.Core.Diary.Slots;
using School.Core.Diary.Time;
using School.Core.Pupils;

namespace School.Core.Diary.TestDays;

/// <summary>Rules of the official practical car test in Great Britain that are more than settings.</summary>
public static class PracticalTest
{
    /// <summary>The most driving faults with which a test is still passed.</summary>
    /// <remarks>Source: readytopass.campaign.gov.uk/driving-test/driving-test-marking-faults-results, read 25 November 2026.</remarks>
    public const int MostDrivingFaults = 15;

    /// <summary>Full working days of notice that keep the fee, since 8 April 2025. A default: the school can change it.</summary>
    /// <remarks>Source: government release of 17 March 2025.</remarks>
    public const int NoticeDays = 10;

    /// <summary>A test after a failed one is at least so many working days away. A default: the school can change it.</summary>
    /// <remarks>From memory, seen agreeing second-hand; the official page decides.</remarks>
    public const int RetestDays = 10;

    /// <summary>How long the whole appointment takes in minutes. A default: the school can change it.</summary>
    /// <remarks>About 35 minutes of driving: readytopass.campaign.gov.uk. The 40 minutes of the whole appointment are from memory.</remarks>
    public const int Minutes = 40;

    /// <summary>How long the whole appointment of an extended test takes in minutes. A default: the school can change it.</summary>
    /// <remarks>65 minutes of driving: readytopass.campaign.gov.uk. The 70 minutes of the whole appointment are second-hand.</remarks>
    public const int ExtendedMinutes = 70;

    /// <summary>Whether the rules kept here are about tests in a nation.</summary>
    /// <remarks>
    /// The notice rule is Great Britain's (England, Scotland, Wales). Northern Ireland has an agency and rules of its own, which are
    /// not kept here.
    /// </remarks>
    public static bool IsIn(Nation nation) => nation is Nation.EnglandAndWales or Nation.Scotland;

    /// <summary>Whether tests are held on a day of the week at most places and times: Monday to Saturday. On some Sundays they are held as well.</summary>
    /// <remarks>Source: the agency's own deadlines for Christmas 2013 name a Sunday test, 29 December
    /// (gov.uk/government/news/dsa-opening-hours-christmas-and-new-year--2).</remarks>
    public static bool IsUsualOn(LocalDate date) => date.DayOfWeek != IsoDayOfWeek.Sunday;

    /// <summary>The first day on which the pupil is old enough to drive in a test.</summary>
    public static LocalDate OldEnoughFrom(PupilFacts pupil, DiaryRules rules) => LearnerRules.OldEnoughFrom(pupil, rules);

    /// <summary>The first day on which a test can follow a failed one: the working day that many working days later.</summary>
    /// <param name="failed">The day of the failed test; it does not count.</param>
    /// <param name="workingDays">1 or more.</param>
    /// <param name="nation">Where the test is taken.</param>
    /// <param name="holidays">Bank holidays there, for the weeks after it.</param>
    /// <remarks>The plain reading of "at least 10 working days away", from memory. The official page decides.</remarks>
    public static LocalDate EarliestRetest(LocalDate failed, int workingDays, Nation nation, IReadOnlySet<LocalDate> holidays)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(workingDays, 1);
        var day = failed;
        for (var counted = 0; counted < workingDays;)
        {
            day = day.PlusDays(1);
            counted += WorkingDays.IsWorkingDay(day, nation, holidays) ? 1 : 0;
        }

        return day;
    }
}
