using NodaTime;
using School.Core.Diary.Time;

namespace School.Core.Tests.Diary.Time;

public class BankHolidaysTests
{
    private static readonly IReadOnlyList<OfficialBankHoliday> Official =
        BankHolidayFile.Read(File.ReadAllText(Path.Combine(AppContext.BaseDirectory, "gb-bank-holidays.json")));

    public static TheoryData<Nation, int> NationsAndYears =>
        new MatrixTheoryData<Nation, int>(Enum.GetValues<Nation>(), Enumerable.Range(2019, 10));

    // Source: GOV.UK bank holidays (alphagov/frontend, August 2026), Open Government Licence v3.
    [Theory]
    [MemberData(nameof(NationsAndYears))]
    public void The_rules_give_the_official_days_and_substitutes(Nation nation, int year)
    {
        var official = Official.Where(day => day.Nation == nation && day.Date.Year == year)
            .Select(day => (day.Date, day.IsSubstitute)).Order();
        Assert.Equal(official, BankHolidays.Of(nation, year).Select(day => (day.Date, day.IsSubstitute)));
    }

    // The same file: each of its keys goes with one name of ours, so a substitute day carries the right name too.
    [Fact]
    public void Every_day_has_the_name_that_the_official_list_gives_it()
    {
        var names = Official
            .Select(day => (day.Key, Ours: BankHolidays.Of(day.Nation, day.Date.Year).Single(ours => ours.Date == day.Date).Name))
            .Distinct()
            .ToLookup(pair => pair.Key, pair => pair.Ours);

        Assert.All(names, name => Assert.Single(name));
        Assert.Equal("Christmas Day", names["christmas"].Single());
        Assert.Equal("St Andrew’s Day", names["st_andrew"].Single());
        Assert.Equal("2nd January", names["2nd_january"].Single());
    }

    // Earliest and latest possible dates, and known years: Meeus, Astronomical Algorithms, chapter 8 (from memory).
    [Theory]
    [InlineData(1818, 3, 22)]
    [InlineData(1886, 4, 25)]
    [InlineData(1943, 4, 25)]
    [InlineData(1954, 4, 18)]
    [InlineData(1991, 3, 31)]
    [InlineData(2000, 4, 23)]
    [InlineData(2038, 4, 25)]
    public void Easter_falls_where_published(int year, int month, int day) =>
        Assert.Equal(new LocalDate(year, month, day), BankHolidays.EasterSunday(year));

    [Fact]
    public void No_holiday_falls_on_a_weekend_or_on_another_in_any_year_of_four_centuries()
    {
        foreach (var nation in Enum.GetValues<Nation>())
        {
            for (var year = BankHolidays.FirstYear; year < BankHolidays.FirstYear + 400; year++)
            {
                var days = BankHolidays.Of(nation, year);
                Assert.All(days, day => Assert.True(day.Date.DayOfWeek < IsoDayOfWeek.Saturday && day.Date.Year == year));
                Assert.Equal(days.Count, days.Select(day => day.Date).Distinct().Count());
            }
        }
    }

    [Fact]
    public void A_year_before_the_known_proclamations_is_not_answered() =>
        Assert.Throws<ArgumentOutOfRangeException>(() => BankHolidays.Of(Nation.Scotland, 2018));
}
