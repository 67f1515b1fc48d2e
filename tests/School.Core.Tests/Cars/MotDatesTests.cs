using NodaTime;
using NodaTime.Text;
using School.Core.Cars;
using Xunit;

namespace School.Core.Tests.Cars;

/// <summary>Check values: https://www.gov.uk/getting-an-mot, read 25 November 2026, unless another source is named.</summary>
public sealed class MotDatesTests
{
    // "If your MOT runs out on 15 May, the earliest you can get an MOT to keep the same renewal date for next year is 16 April."
    [Fact]
    public void A_month_minus_a_day_before_it_runs_out_a_test_keeps_the_date()
    {
        Assert.Equal(new LocalDate(2026, 4, 16), MotDates.KeepsDateFrom(new(2026, 5, 15)));
        Assert.Equal(new LocalDate(2027, 5, 15), MotDates.LastDayAfter(new(2026, 4, 16), new(2026, 5, 15)));
        Assert.Equal(new LocalDate(2027, 5, 15), MotDates.LastDayAfter(new(2026, 5, 15), new(2026, 5, 15)));
    }

    // "… if you get your MOT earlier, the renewal date for the following year will be one year (minus a day) from the date it was last tested": 14 April, then 13 April.
    [Fact]
    public void Earlier_or_later_than_that_it_counts_from_the_test()
    {
        Assert.Equal(new LocalDate(2027, 4, 13), MotDates.LastDayAfter(new(2026, 4, 14), new(2026, 5, 15)));
        Assert.Equal(new LocalDate(2027, 4, 14), MotDates.LastDayAfter(new(2026, 4, 15), new(2026, 5, 15)));
        // Later: the same rule, by our own reading.
        Assert.Equal(new LocalDate(2027, 5, 15), MotDates.LastDayAfter(new(2026, 5, 16), new(2026, 5, 15)));
    }

    // The first by the third anniversary of registration; in Northern Ireland the fourth (nidirect.gov.uk). Then every year.
    [Theory]
    [InlineData(3, "2023-06-09", "2026-06-08", "2030-06-08")]
    [InlineData(4, "2023-06-09", "2027-06-08", "2031-06-08")]
    public void Tested_in_time_year_by_year_it_is_due_on_the_same_day_of_every_year(int years, string registered, string first, string fifth)
    {
        var car = new CarFacts(Guid.NewGuid(), Gearbox.Manual, true, Date(registered), null, null, null, null, []) { FirstMotYears = years };
        Assert.Equal(Date(first), car.MotGoodUntil);
        for (var year = 0; year < 4; year++)
        {
            // On the first day that keeps it, on the last, and between.
            var tested = year % 2 == 0 ? MotDates.KeepsDateFrom(car.MotGoodUntil) : car.MotGoodUntil.PlusDays(-year);
            Assert.Null(car.WhyNotOn(car.MotGoodUntil));
            Assert.Equal(CarProblem.NoMot, car.WhyNotOn(car.MotGoodUntil.PlusDays(1)));
            car = car with { MotExpires = MotDates.LastDayAfter(tested, car.MotGoodUntil) };
        }

        Assert.Equal(Date(fifth), car.MotGoodUntil);
        Assert.Equal(Date(fifth), CarPaperDates.Of(car)[0].Until);
        // Left out for a year it begins anew.
        Assert.Equal(Date(fifth).PlusYears(2), MotDates.LastDayAfter(Date(fifth).PlusYears(1).PlusDays(1), car.MotGoodUntil));
    }

    [Fact]
    public void The_time_before_the_first_begins_with_the_car_and_of_a_certificate_the_first_day_is_not_told()
    {
        var car = new CarFacts(Guid.NewGuid(), Gearbox.Manual, true, Date("2024-06-09"), null, null, null, null, []);
        Assert.Equal((Date("2024-06-09"), Date("2027-06-08")), (CarPaperDates.Of(car)[0].From!.Value, CarPaperDates.Of(car)[0].Until!.Value));
        // One from before the law asks for any ends nothing and begins nothing.
        Assert.Equal((Date("2024-06-09"), Date("2027-06-08")), (CarPaperDates.Of(car with { MotExpires = Date("2026-06-08") })[0].From!.Value, CarPaperDates.Of(car with { MotExpires = Date("2026-06-08") })[0].Until!.Value));
        var tested = CarPaperDates.Of(car with { MotExpires = Date("2028-06-08") })[0];
        Assert.Equal((null, Date("2028-06-08")), (tested.From, tested.Until!.Value));
    }

    [Fact]
    public void No_certificate_that_exists_today_reaches_further_than_the_furthest()
    {
        for (var today = new LocalDate(2026, 1, 1); today < new LocalDate(2028, 3, 2); today = today.PlusDays(1))
        {
            var furthest = MotDates.Furthest(today);
            for (var last = today; last < today.PlusDays(40); last = last.PlusDays(1))
            {
                Assert.True(MotDates.LastDayAfter(today, last) <= furthest, $"{today} {last}");
            }
        }
    }

    private static LocalDate Date(string text) => LocalDatePattern.Iso.Parse(text).Value;
}
