using NodaTime;
using School.Core.Travel;
using Xunit;

namespace School.Core.Tests.Travel;

public sealed class StraightLineTravelTests
{
    private static readonly Coordinates Here = new(52.1, -1.3);
    private static readonly LocalDateTime MondayEight = new(2026, 6, 8, 8, 59);

    [Fact]
    public void The_same_spot_takes_no_time() =>
        Assert.Equal(new Leg(0, 0), new StraightLineTravel(new()).Between(Here, Here, MondayEight));

    [Fact]
    public void Next_door_takes_a_minute() =>
        Assert.Equal(1, new StraightLineTravel(new()).Between(Here, new(52.1001, -1.3), MondayEight).Minutes);

    [Fact]
    public void Minutes_are_road_miles_over_the_speed_of_that_hour_rounded_up()
    {
        // A degree of latitude is 2πR/360 = 111,195.08 m = 69.0934 miles on the sphere, so a tenth with detour 2 is
        // 13.81868 road miles: 41.46 minutes at 20 mph, 27.64 at 30, 82.91 at 10.
        var travel = new StraightLineTravel(new()
        {
            DetourFactor = 2,
            WeekdayMph = [.. Enumerable.Repeat(30.0, 8), 20, .. Enumerable.Repeat(30.0, 15)],
            SaturdayMph = [.. Enumerable.Repeat(10.0, 24)],
            SundayMph = [.. Enumerable.Repeat(30.0, 24)],
        });
        Leg On(LocalDateTime leaving) => travel.Between(Here, new(52.2, -1.3), leaving);

        Assert.Equal(13.81868, On(MondayEight).Miles, 4);
        Assert.Equal(42, On(MondayEight).Minutes);
        Assert.Equal(28, On(MondayEight.PlusMinutes(1)).Minutes);
        Assert.Equal(83, On(MondayEight.PlusDays(5)).Minutes);
        Assert.Equal(28, On(MondayEight.PlusDays(6)).Minutes);
    }

    [Fact]
    public void The_default_settings_are_valid() => Assert.Empty(new StraightLineSettings().Validate());

    [Theory]
    [InlineData(0.99)]
    [InlineData(3.01)]
    [InlineData(double.NaN)]
    public void A_detour_factor_out_of_bounds_is_told(double factor) =>
        Assert.Equal("The detour factor must be from 1 to 3.",
            new StraightLineSettings { DetourFactor = factor }.Validate()[nameof(StraightLineSettings.DetourFactor)]);

    [Fact]
    public void Speeds_that_do_not_make_sense_are_told_by_field()
    {
        var errors = new StraightLineSettings
        {
            WeekdayMph = [30],
            SaturdayMph = [.. Enumerable.Repeat(0.0, 24)],
            SundayMph = [.. Enumerable.Repeat(double.NaN, 24)],
        }.Validate();

        Assert.Equal(["SaturdayMph", "SundayMph", "WeekdayMph"], errors.Keys.Order());
        Assert.Equal("Give 24 speeds, one for each hour of the day.", errors["WeekdayMph"]);
    }

    [Fact]
    public void Settings_that_are_not_valid_are_refused() =>
        Assert.Throws<ArgumentException>(() => new StraightLineTravel(new() { DetourFactor = 0 }));
}
