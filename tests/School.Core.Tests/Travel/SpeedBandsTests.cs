using CsCheck;
using School.Core.Travel;

namespace School.Core.Tests.Travel;

public sealed class SpeedBandsTests
{
    [Fact]
    public void Bands_and_hours_tell_the_same_day() =>
        Gen.Int[1, 4].Array[24].Sample(speeds =>
        {
            var hours = speeds.Select(speed => speed * 10.5).ToArray();
            var bands = SpeedBands.Of(hours);
            Assert.Equal((0, 24), (bands[0].From, bands[^1].Until));
            Assert.Equal(hours, SpeedBands.ToHours(bands.Reverse().Select(band => (band.From, band.Mph))));
            Assert.All(bands.Zip(bands.Skip(1)), pair => Assert.True(pair.First.Until == pair.Second.From && pair.First.Mph != pair.Second.Mph));
        });

    [Fact]
    public void The_usual_weekday_has_a_handful_of_bands() =>
        Assert.Equal(
            [(0, 6, 28), (6, 7, 20), (7, 9, 16), (9, 15, 20), (15, 18, 17), (18, 19, 20), (19, 21, 22), (21, 24, 26)],
            SpeedBands.Of(new StraightLineSettings().WeekdayMph).Select(band => (band.From, band.Until, band.Mph)));

    [Fact]
    public void Bands_that_do_not_make_a_day_are_none()
    {
        Assert.Null(SpeedBands.ToHours([]));
        Assert.Null(SpeedBands.ToHours([(7, 20)]));
        Assert.Null(SpeedBands.ToHours([(0, 20), (24, 25)]));
        Assert.Null(SpeedBands.ToHours([(0, 20), (7, 25), (7, 26)]));
        Assert.Null(SpeedBands.ToHours([(-1, 20), (0, 25)]));
    }
}
