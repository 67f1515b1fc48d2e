using CsCheck;
using NodaTime;
using NodaTime.Text;
using School.Core.Diary.Time;

namespace School.Core.Tests.Diary.Time;

// Calculated by hand from the rule (gov.uk release of 17 March 2025: 10 full working days; Monday to Saturday:
// gov.uk/change-driving-test; clear days: SI 2005/2717 note) and GOV.UK's bank holidays; with the agency's own table for one Christmas.
public class WorkingDaysTests
{
    private static readonly LocalDatePattern Pattern = LocalDatePattern.CreateWithInvariantCulture("d MMM yyyy");

    [Theory]
    [InlineData("15 Apr 2025", 10, "2 Apr 2025", "2 Apr 2025")]
    [InlineData("12 Jan 2026", 10, "29 Dec 2025", "28 Dec 2025")]
    [InlineData("14 Apr 2026", 10, "30 Mar 2026", "31 Mar 2026")]
    [InlineData("12 May 2026", 10, "28 Apr 2026", "28 Apr 2026")]
    [InlineData("10 Dec 2026", 10, "27 Nov 2026", "26 Nov 2026")]
    [InlineData("11 Jan 2027", 10, "28 Dec 2026", "22 Dec 2026")]
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

    // The agency's deadlines to change a test online, three clear working days, Christmas 2013, England and Wales (25 and 26 December and
    // 1 January are holidays): gov.uk/government/news/dsa-opening-hours-christmas-and-new-year--2.
    [Theory]
    [InlineData("24 Dec 2013", "19 Dec 2013")]
    [InlineData("28 Dec 2013", "22 Dec 2013")]
    [InlineData("29 Dec 2013", "23 Dec 2013")]
    [InlineData("30 Dec 2013", "23 Dec 2013")]
    [InlineData("31 Dec 2013", "26 Dec 2013")]
    [InlineData("2 Jan 2014", "27 Dec 2013")]
    public void The_six_dates_of_the_agency_itself(string test, string expected)
    {
        HashSet<LocalDate> holidays = [new(2013, 12, 25), new(2013, 12, 26), new(2014, 1, 1)];
        Assert.Equal(Day(expected), WorkingDays.LastDayToChangeTest(Day(test), 3, Nation.EnglandAndWales, holidays));
    }

    // Calculated by hand from the same rule, with 25 and 26 December and 1 January (Scotland also 2 January and 30 November) as holidays
    // beside their substitutes: no official table was found for such a year, and this is never later than right.
    [Theory]
    [InlineData("29 Dec 2026", "13 Dec 2026")]
    [InlineData("4 Jan 2027", "17 Dec 2026")]
    [InlineData("5 Jan 2027", "18 Dec 2026")]
    [InlineData("8 Jan 2027", "22 Dec 2026")]
    [InlineData("11 Jan 2027", "28 Dec 2026")]
    [InlineData("30 Dec 2027", "14 Dec 2027")]
    [InlineData("4 Jan 2028", "16 Dec 2027")]
    [InlineData("6 Jan 2028", "19 Dec 2027")]
    [InlineData("10 Jan 2028", "22 Dec 2027")]
    [InlineData("6 Dec 2026", "24 Nov 2026")] // a test on a Sunday
    public void A_holiday_on_a_Saturday_is_no_working_day_although_another_day_replaces_it(string test, string expected) =>
        Assert.Equal(Day(expected), LastDay(test, 10, Nation.EnglandAndWales));

    [Theory]
    [InlineData("5 Jan 2027", "16 Dec 2026")]
    [InlineData("8 Jan 2027", "20 Dec 2026")]
    [InlineData("11 Jan 2027", "22 Dec 2026")]
    public void Nor_are_the_second_of_January_and_St_Andrews_Day_in_Scotland(string test, string expected) =>
        Assert.Equal(Day(expected), LastDay(test, 10, Nation.Scotland));

    // Saturday 30 November 2024, kept on Monday 2 December: GOV.UK bank holidays.
    [Fact]
    public void St_Andrews_Day_on_a_Saturday_counts_with_its_substitute() =>
        Assert.Equal((Day("26 Nov 2024"), Day("28 Nov 2024")), (LastDay("3 Dec 2024", 3, Nation.Scotland), LastDay("3 Dec 2024", 3, Nation.EnglandAndWales)));

    // Later years have no official list yet: the holiday's own day as well as its substitute by the rule.
    [Fact]
    public void Years_without_an_official_list_keep_both_days()
    {
        foreach (var nation in Enum.GetValues<Nation>())
        {
            for (var year = 2029; year < 2229; year++)
            {
                HashSet<LocalDate> byRule = [.. BankHolidays.Of(nation, year).Select(day => day.Date)];
                Assert.All(byRule, day => Assert.False(WorkingDays.IsWorkingDay(day, nation, byRule)));
                LocalDate[] never = [new(year, 1, 1), new(year, 12, 25), new(year, 12, 26), .. nation == Nation.Scotland ? [new LocalDate(year, 1, 2), new LocalDate(year, 11, 30)] : Array.Empty<LocalDate>()];
                Assert.All(never, day => Assert.False(WorkingDays.IsWorkingDay(day, nation, byRule)));
            }
        }
    }

    [Fact]
    public void It_is_the_latest_day_with_enough_working_days_strictly_between()
    {
        var holidays = Holidays(Nation.NorthernIreland);
        Gen.Select(Gen.Int[40, 3600], Gen.Int[0, 20]).Sample((days, notice) =>
        {
            var test = new LocalDate(2019, 1, 1).PlusDays(days);
            var last = WorkingDays.LastDayToChangeTest(test, notice, Nation.NorthernIreland, holidays);
            Assert.True(Between(last, test) >= notice);
            Assert.True(last.PlusDays(1) == test || Between(last.PlusDays(1), test) < notice);
        });

        int Between(LocalDate from, LocalDate to) =>
            Enumerable.Range(1, Math.Max(0, Period.DaysBetween(from, to) - 1)).Count(n => WorkingDays.IsWorkingDay(from.PlusDays(n), Nation.NorthernIreland, holidays));
    }

    // Northern Ireland has bank holidays of its own, and a rule of its own: the count is right, the ten days are Great Britain's.
    [Theory]
    [InlineData("14 Apr 2026", "30 Mar 2026")] // Good Friday and Easter Monday, as in England and Wales
    [InlineData("24 Mar 2026", "10 Mar 2026")] // St Patrick's Day, Tuesday 17 March
    [InlineData("21 Jul 2026", "7 Jul 2026")] // 12 July kept on Monday the 13th
    public void The_count_with_the_holidays_of_Northern_Ireland(string test, string expected) =>
        Assert.Equal(Day(expected), LastDay(test, 10, Nation.NorthernIreland));

    private static LocalDate LastDay(string test, int notice, Nation nation) =>
        WorkingDays.LastDayToChangeTest(Day(test), notice, nation, Holidays(nation));

    private static HashSet<LocalDate> Holidays(Nation nation) =>
        [.. Enumerable.Range(2019, 10).SelectMany(year => BankHolidays.Of(nation, year)).Select(day => day.Date)];

    private static LocalDate Day(string text) => Pattern.Parse(text).Value;
}
