using NodaTime;
using School.Core.Travel;

namespace School.Core.Tests.Travel;

public sealed class RoutedTravelTests
{
    private static readonly Coordinates Mill = new(52.4, -1.2);
    private static readonly Coordinates Quarry = new(52.45, -1.25);
    private static readonly LocalDateTime Monday = new(2026, 3, 2, 8, 0);

    [Fact]
    public void Known_drives_are_told_as_given_and_the_others_estimated()
    {
        var estimate = new StraightLineTravel(new());
        var travel = new RoutedTravel(new Dictionary<(Coordinates, Coordinates), RoutedDrive> { [(Mill, Quarry)] = new(601, 1609.344 * 5) }, estimate);
        Assert.Equal(new Leg(11, 5), travel.Between(Mill, Quarry, Monday));
        Assert.Equal(estimate.Between(Quarry, Mill, Monday), travel.Between(Quarry, Mill, Monday));
        Assert.Equal(Leg.None, travel.Between(Mill, Mill, Monday));
    }

    [Fact]
    public void Two_places_on_one_spot_of_road_are_still_a_minute_apart() =>
        Assert.Equal(1, new RoutedTravel(new Dictionary<(Coordinates, Coordinates), RoutedDrive> { [(Mill, Quarry)] = new(0, 0) }, new StraightLineTravel(new())).Between(Mill, Quarry, Monday).Minutes);

    [Theory]
    [InlineData(15, 1500, false)] // 100 m/s
    [InlineData(0, 30, true)]
    [InlineData(0, 0, true)]
    public void Places_near_each_other_are_not_driven_between_at_any_speed(double seconds, double metres, bool fine) =>
        Assert.Equal(fine, new RoutedDrive(seconds, metres).ProblemBetween(Mill, new(52.409, -1.2)) is null);

    [Theory]
    [InlineData(600, 8000, true)]
    [InlineData(double.NaN, 8000, false)]
    [InlineData(600, double.PositiveInfinity, false)]
    [InlineData(-1, 8000, false)]
    [InlineData(600, -1, false)]
    [InlineData(12 * 3600 + 1, 8000, false)]
    [InlineData(600, 1000, false)] // 6.5 km as the crow flies
    [InlineData(20, 8000, false)]
    [InlineData(80, 8000, false)] // 100 m/s by road
    [InlineData(200, 8000, true)] // 40 m/s
    public void A_drive_that_cannot_be_true_is_found_out(double seconds, double metres, bool fine) =>
        Assert.Equal(fine, new RoutedDrive(seconds, metres).ProblemBetween(Mill, Quarry) is null);
}
