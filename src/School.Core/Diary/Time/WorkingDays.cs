using NodaTime;

namespace School.Core.Diary.Time;

/// <summary>Working days as driving tests count them: Monday to Saturday, without bank holidays.</summary>
/// <remarks>
/// Sources: gov.uk/change-driving-test (text of the three-day rule); explanatory note to SI 2005/2717, “clear working days”.
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
    /// <param name="holidays">Bank holidays where the test is booked, for the weeks before it.</param>
    /// <remarks>A calculation: the official letter or e-mail decides.</remarks>
    public static LocalDate LastDayToChangeTest(LocalDate testDay, int notice, IReadOnlySet<LocalDate> holidays)
    {
        ArgumentNullException.ThrowIfNull(holidays);
        ArgumentOutOfRangeException.ThrowIfNegative(notice);

        var day = testDay.PlusDays(-1);
        for (var between = 0; between < notice; day = day.PlusDays(-1))
        {
            between += IsWorkingDay(day, holidays) ? 1 : 0;
        }

        return day;
    }

    /// <summary>Whether the day is one on which tests are counted to work.</summary>
    public static bool IsWorkingDay(LocalDate day, IReadOnlySet<LocalDate> holidays)
    {
        ArgumentNullException.ThrowIfNull(holidays);
        return day.DayOfWeek != IsoDayOfWeek.Sunday && !holidays.Contains(day);
    }
}
