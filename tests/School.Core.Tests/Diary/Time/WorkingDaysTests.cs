using CsCheck;
using NodaTime;
using NodaTime.Text;
using School.Core.Diary.Time;

namespace School.Core.Tests.Diary.Time;

// Calculated by hand from the rule (gov.uk release of 17 March 2025: 10 full working days; Monday to Saturday:
// gov.uk/change-driving-test; clear days: SI 2005/2717 note) and GOV.UK's bank holidays. No official table of deadlines was found.
public class WorkingDaysTests
{
    private static readonly LocalDatePattern Pattern = LocalDatePattern.CreateWithInvariantCulture("d MMM yyyy");

    [Theory]
    [InlineData("15 Apr 2025", 10, "2 Apr 2025", "2 Apr 2025")]
    [InlineData("12 Jan 2026", 10, "29 Dec 2025", "28 Dec 2025")]
    [InlineData("14 Apr 2026", 10, "30 Mar 2026", "31 Mar 2026")]
    [InlineData("12 May 2026", 10, "28 Apr 2026", "28 Apr 2026")]
    [InlineData("10 Dec 2026", 10, "27 Nov 2026", "26 Nov 2026")]
    [InlineData("11 Jan 2027", 10, "28 Dec 2026", "25 Dec 2026")]
    [InlineData("6 Apr 2027", 10, "22 Mar 2027", "23 Mar 2027")]
    [InlineData("31 Aug 2027", 10, "17 Aug 2027", "18 Aug 2027")]
    public void The_last_day_to_change_a_practical_test(string test, int notice, string englandAndWales, string scotland)
    {
        Assert.Equal(Day(englandAndWales), LastDay(test, notice, Nation.EnglandAndWales));
        Assert.Equal(Day(scotland), LastDay(test, notice, Nation.Scotland));
    }

    [Theory]
    [InlineData("15 Apr 2025", "10 Apr 2025")]
    [InlineData("12 Jan 2026", "7 Jan 2026")]
    [InlineData("14 Apr 2026", "9 Apr 2026")]
    [InlineData("12 May 2026", "7 May 2026")]
    [InlineData("10 Dec 2026", "6 Dec 2026")]
    [InlineData("11 Jan 2027", "6 Jan 2027")]
    [InlineData("6 Apr 2027", "1 Apr 2027")]
    [InlineData("31 Aug 2027", "25 Aug 2027")]
    public void The_last_day_at_three_days_notice(string test, string expected) =>
        Assert.Equal(Day(expected), LastDay(test, 3, Nation.EnglandAndWales));

    [Fact]
    public void It_is_the_latest_day_with_enough_working_days_strictly_between()
    {
        var holidays = Holidays(Nation.NorthernIreland);
        Gen.Select(Gen.Int[40, 3600], Gen.Int[0, 20]).Sample((days, notice) =>
        {
            var test = new LocalDate(2019, 1, 1).PlusDays(days);
            var last = WorkingDays.LastDayToChangeTest(test, notice, holidays);
            Assert.True(Between(last, test) >= notice);
            Assert.True(last.PlusDays(1) == test || Between(last.PlusDays(1), test) < notice);
        });

        int Between(LocalDate from, LocalDate to) =>
            Enumerable.Range(1, Math.Max(0, Period.DaysBetween(from, to) - 1)).Count(n => WorkingDays.IsWorkingDay(from.PlusDays(n), holidays));
    }

    // Northern Ireland has bank holidays of its own, and a rule of its own: the count is right, the ten days are Great Britain's.
    [Theory]
    [InlineData("14 Apr 2026", "30 Mar 2026")] // Good Friday and Easter Monday, as in England and Wales
    [InlineData("24 Mar 2026", "10 Mar 2026")] // St Patrick's Day, Tuesday 17 March
    [InlineData("21 Jul 2026", "7 Jul 2026")] // 12 July kept on Monday the 13th
    public void The_count_with_the_holidays_of_Northern_Ireland(string test, string expected) =>
        Assert.Equal(Day(expected), LastDay(test, 10, Nation.NorthernIreland));

    private static LocalDate LastDay(string test, int notice, Nation nation) =>
        WorkingDays.LastDayToChangeTest(Day(test), notice, Holidays(nation));

    private static HashSet<LocalDate> Holidays(Nation nation) =>
        [.. Enumerable.Range(2019, 10).SelectMany(year => BankHolidays.Of(nation, year)).Select(day => day.Date)];

    private static LocalDate Day(string text) => Pattern.Parse(text).Value;
}
