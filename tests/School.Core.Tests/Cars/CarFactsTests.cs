using NodaTime;
using School.Core.Cars;
using Xunit;

namespace School.Core.Tests.Cars;

public sealed class CarFactsTests
{
    private static readonly LocalDate Day = new(2026, 6, 8);
    private static readonly CarFacts Car = new(
        Guid.NewGuid(), Gearbox.Manual, true, new LocalDate(2020, 5, 1), Day, Day, Day, Day, []);

    [Fact]
    public void Papers_are_good_through_their_last_day()
    {
        Assert.Null(Car.WhyNotOn(Day));
        Assert.Equal(CarProblem.NoMot, Car.WhyNotOn(Day.PlusDays(1)));
    }

    [Fact]
    public void Each_paper_is_checked()
    {
        var after = Day.PlusDays(1);

        Assert.Equal(CarProblem.NoTax, (Car with { MotExpires = after }).WhyNotOn(after));
        Assert.Equal(CarProblem.NoInsurance, (Car with { MotExpires = after, TaxExpires = null }).WhyNotOn(after));
        Assert.Equal(CarProblem.ServiceOverdue, (Car with { MotExpires = after, TaxExpires = null, InsuranceExpires = null }).WhyNotOn(after));
        Assert.Null((Car with { MotExpires = after, TaxExpires = null, InsuranceExpires = null, ServiceDue = null }).WhyNotOn(after));
    }

    // https://www.gov.uk/getting-an-mot: by the third anniversary of its registration; 29 February: our own reading.
    [Theory]
    [InlineData("2023-06-09", null)]
    [InlineData("2023-06-08", CarProblem.NoMot)]
    [InlineData("2026-06-09", CarProblem.NotYetRegistered)]
    [InlineData("2026-06-08", null)]
    public void A_car_needs_its_first_MOT_by_the_third_anniversary(string registered, CarProblem? problem)
    {
        var date = NodaTime.Text.LocalDatePattern.Iso.Parse(registered).Value;

        Assert.Equal(problem, (Car with { FirstRegistered = date, MotExpires = null }).WhyNotOn(Day));
    }

    [Fact]
    public void A_leap_day_has_its_anniversary_on_28_February() =>
        Assert.Equal(new LocalDate(2027, 2, 28), (Car with { FirstRegistered = new LocalDate(2024, 2, 29) }).MotNeededFrom);

    [Fact]
    public void An_early_MOT_that_ran_out_before_the_third_anniversary_does_not_matter_yet() =>
        Assert.Null((Car with { FirstRegistered = Day.PlusYears(-2), MotExpires = Day.PlusDays(-1) }).WhyNotOn(Day));

    [Fact]
    public void Off_the_road_is_half_open_and_may_be_open_ended()
    {
        var from = Instant.FromUtc(2026, 6, 8, 9, 0);
        Interval Hours(int start, int end) => new(from + Duration.FromHours(start), from + Duration.FromHours(end));

        Assert.Equal([false, true, false], new[] { Hours(-1, 0), Hours(-1, 1), Hours(2, 3) }.Select((Car with { OffRoad = [Hours(0, 2)] }).IsOffRoad));
        Assert.True((Car with { OffRoad = [new Interval(from, null)] }).IsOffRoad(Hours(10_000, 10_001)));
        Assert.False((Car with { OffRoad = [new Interval(null, from)] }).IsOffRoad(Hours(0, 1)));
    }

    [Fact]
    public void Every_problem_has_words() =>
        Assert.All(Enum.GetValues<CarProblem>(), problem => Assert.StartsWith("is ", problem.Words().Replace("has no", "is", StringComparison.Ordinal)));
}
