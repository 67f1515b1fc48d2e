using NodaTime;

namespace School.Core.Diary.Time;

/// <summary>Working days as driving tests count them: Monday to Saturday, without bank holidays.</summary>
/// <remarks>
/// Sources: gov.uk/change-driving-test (text of the three-day rule); explanatory note to SI 2005/2717, “clear working days”.
/// No official table was found for a year in which 25 December, 26 December or 1 January is a Saturday. These days are counted as
/// holidays as well as their substitutes, which never tells a day later than the right one.
/// </remarks>
public static class WorkingDays
{
    /// <summary>
    /// The last day on which a test can be changed or cancelled without losing the fee, if neither that day nor the day of the
    /// test counts as notice. The day itself may be a Sunday or a holiday.
    /// </summary>
    /// <param name="testDay">The day of the test.</param>
    /// <param name="notice">
    /// How many full working days must lie between. Practical car tests: 10 since 8 April 2025, 3 before; theory tests 3.
    /// </param>
    /// <param name="nation">Where the test is booked.</param>
    /// <param name="holidays">Bank holidays there, for the weeks before it.</param>
    /// <remarks>A calculation: the official letter or e-mail decides.</remarks>
    public static LocalDate LastDayToChangeTest(LocalDate testDay, int notice, Nation nation, IReadOnlySet<LocalDate> holidays)
    {
        ArgumentNullException.ThrowIfNull(holidays);
        ArgumentOutOfRangeException.ThrowIfNegative(notice);

        var day = testDay.PlusDays(-1);
        for (var between = 0; between < notice; day = day.PlusDays(-1))
        {
            between += IsWorkingDay(day, nation, holidays) ? 1 : 0;
        }

        return day;
    }

    /// <summary>Whether the day is one on which tests are counted to work.</summary>
    public static bool IsWorkingDay(LocalDate day, Nation nation, IReadOnlySet<LocalDate> holidays) =>
        day.DayOfWeek != IsoDayOfWeek.Sunday && !IsHoliday(day, nation, holidays);

    /// <summary>Whether the day is a holiday there: one of the list, or one that is whatever day of the week it is and whatever replaces it:
    /// 25 and 26 December and 1 January, in Scotland also 2 January and 30 November.</summary>
    public static bool IsHoliday(LocalDate day, Nation nation, IReadOnlySet<LocalDate> holidays)
    {
        ArgumentNullException.ThrowIfNull(holidays);
        return holidays.Contains(day) || (day.Month, day.Day) is (12, 25) or (12, 26) or (1, 1)
            || (nation == Nation.Scotland && (day.Month, day.Day) is (1, 2) or (11, 30));
    }
}
