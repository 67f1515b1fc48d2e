using NodaTime;
using School.Web.Platform.Layout;
using School.Web.Platform.Layout.Time;
using Xunit;

namespace School.Web.Tests.Platform.Layout.Time;

public sealed class TimeGridTests
{
    private static readonly DateTimeZone London = DateTimeZoneProviders.Tzdb["Europe/London"];
    private static readonly LocalDate Saturday = new(2026, 10, 24);

    [Fact]
    public void Every_cell_runs_on_the_scale_of_all_whatever_the_clocks_do()
    {
        // Summer Time Act 1972: the clocks go back on Sunday 25 October 2026.
        var grid = Draw(
            Lane(Saturday) with { Working = [On(Saturday, 8, 18)] },
            Lane(Saturday.PlusDays(1)) with { Working = [On(Saturday.PlusDays(1), 9, 17)], Plates = [Plate(Saturday.PlusDays(1), 10, 12, PlateState.Booked)] });
        Assert.Equal((480, 1080), (grid.Scale.From, grid.Scale.To));
        Assert.Equal("08 to 18 in each cell", grid.Hours);
        Assert.Equal("M0 7h600", grid.Rows[0][0].Work);
        Assert.Equal("M60 7h480", grid.Rows[0][1].Work);
        Assert.Equal("M120 7h120", grid.Rows[0][1].Tarmac);
    }

    [Fact]
    public void What_cannot_take_place_is_no_road_and_a_test_has_a_flag()
    {
        var flag = On(Saturday, 11, 12).Start;
        var sketch = Draw(Lane(Saturday) with
        {
            Working = [On(Saturday, 8, 18)],
            Plates = [Plate(Saturday, 9, 10, PlateState.Cannot), Plate(Saturday, 10, 12, PlateState.Test) with { Flag = flag }],
            Away = [new(On(Saturday, 13, 18), "course", "/off")],
        }).Rows[0][0];
        Assert.Equal("M120 7h120", sketch.Tarmac);
        Assert.Equal((10.0, 10.0), (Assert.Single(sketch.Cannot).X, sketch.Cannot[0].Width));
        Assert.Equal(30, Assert.Single(sketch.Flags));
        Assert.Equal((50.0, 50.0), (Assert.Single(sketch.Away).X, sketch.Away[0].Width));
        Assert.Null(sketch.Now);
    }

    [Theory]
    [InlineData(0, 0, 0)]
    [InlineData(30, 60, 50)]
    [InlineData(90, 60, 100)]
    [InlineData(10, 0, 100)]
    public void No_bar_is_longer_than_its_road(int used, int possible, double share) => Assert.Equal(share, new GridSum(used, possible).Share);

    [Theory]
    [InlineData(0, "0")]
    [InlineData(14, "0")]
    [InlineData(59, "¾")]
    [InlineData(60, "1")]
    [InlineData(164, "2½")]
    public void Hours_are_never_more_than_there_are(int minutes, string words) => Assert.Equal(words, ScreenWords.Hours(minutes));

    private static GridDrawing Draw(params TimeLane[] lanes) => GridDrawing.Of(new(
        "Weeks", "booked", London, Instant.FromUtc(2026, 10, 1, 0, 0), [.. lanes.Select(lane => new GridDay(lane.Date))],
        [new("Marigold Ashby", "/week", [.. lanes.Select(lane => new GridCell(lane, new("", ""), ""))], new(0, 0))]));

    private static TimeLane Lane(LocalDate date) => new("Marigold Ashby", "/day", date);

    private static TimePlate Plate(LocalDate date, int from, int to, PlateState state) => new(On(date, from, to), state, "", "", "");

    private static Interval On(LocalDate date, int from, int to) => new(At(date, from), At(date, to));

    private static Instant At(LocalDate date, int hour) => date.At(new(hour, 0)).InZoneStrictly(London).ToInstant();
}
