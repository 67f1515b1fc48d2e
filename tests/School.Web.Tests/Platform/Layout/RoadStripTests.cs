using CsCheck;
using School.Web.Platform.Layout.Strip;
using Xunit;

namespace School.Web.Tests.Platform.Layout;

public sealed class RoadStripTests
{
    [Fact]
    public void A_leg_is_drawn_as_long_as_it_lasts_with_its_spare_minutes_at_the_end()
    {
        var row = RoadDrawing.Rows(new RoadStrip("Day", [new RoadLeg("To Quarry Rise", 15, 2.8m, 5)])).Single();

        Assert.Equal(20 * RoadDrawing.PixelsPerMinute, row.Height);
        Assert.Equal(25m, row.SparePercent);
        Assert.Equal(0m, row.LatePercent);
        Assert.False(row.Broken);
    }

    [Fact]
    public void A_late_leg_shows_how_much_of_it_is_late()
    {
        var leg = new RoadLeg("To Harbour Street", 20, 6.4m, -2);
        var row = RoadDrawing.Rows(new RoadStrip("Day", [leg])).Single();

        Assert.Equal(2, leg.LateMinutes);
        Assert.Equal(10m, row.LatePercent);
        Assert.Equal(0m, row.SparePercent);
    }

    [Fact]
    public void A_leg_too_long_for_the_paper_is_drawn_broken() =>
        Assert.True(RoadDrawing.Rows(new RoadStrip("Day", [new RoadLeg("Home", 90, 40m)])).Single() is
        { Broken: true, Height: RoadDrawing.Longest });

    [Fact]
    public void Every_mile_of_the_day_has_one_tick_and_every_fifth_a_stone() =>
        Gen.Select(Gen.Int[1, 90], Gen.Int[0, 400], Gen.Int[-20, 60])
            .Select((minutes, tenths, spare) => (RoadPart)new RoadLeg("On", minutes, tenths / 10m, spare)).List[1, 12]
            .Sample(legs =>
            {
                var rows = RoadDrawing.Rows(new RoadStrip("Day", legs));
                var total = legs.Cast<RoadLeg>().Sum(leg => leg.Miles);
                var ticks = rows.SelectMany(row => row.Miles).ToList();
                Assert.Equal((int)Math.Floor(total), ticks.Count);
                Assert.Equal(Enumerable.Range(1, (int)Math.Floor(total / 5)).Select(n => 5 * n), ticks.Select(tick => tick.Stone).OfType<int>());
                Assert.All(ticks, tick => Assert.InRange(tick.Percent, 0m, 100m));
                Assert.All(rows, row => Assert.InRange(row.Height, RoadDrawing.Shortest, RoadDrawing.Longest));
            });

    [Fact]
    public void A_level_fills_so_many_fifths_of_its_marker()
    {
        Assert.Equal("", new StopLevel(0, "Not started").Path);
        // A fifth clockwise from the top: sine and cosine of 72 degrees times the radius of 6.5.
        Assert.Equal("M0 0V-6.5A6.5 6.5 0 0 1 6.18 -2.01z", new StopLevel(1, "Introduced").Path);
        Assert.Contains(" 0 1 1 -6.18 -2.01z", new StopLevel(4, "Independent").Path, StringComparison.Ordinal);
        Assert.Equal(6, Enumerable.Range(0, 6).Select(fifths => new StopLevel(fifths, "").Path).Distinct().Count());
    }

    [Fact]
    public async Task The_state_of_a_stop_is_a_word_and_a_shape_not_only_a_colour()
    {
        await using var host = await PageHost.Start();
        var drawings = new List<string>();
        foreach (var state in Enum.GetValues<StopState>())
        {
            var html = await Draw(host, new RoadStop("Tamsin Oakley", state) { Times = "08:30–10:00" });
            var marker = html[html.IndexOf("<svg class=\"marker", StringComparison.Ordinal)..];
            drawings.Add(string.Concat(marker[(marker.IndexOf('>', StringComparison.Ordinal) + 1)..marker.IndexOf("</svg>", StringComparison.Ordinal)]));
            Assert.Equal(state != StopState.Ahead, html.Contains($"<b class=\"state\">{RoadPlace.StateWord(state)}</b>", StringComparison.Ordinal));
        }

        Assert.Equal(drawings.Count, drawings.Distinct().Count());
    }

    [Fact]
    public async Task A_late_leg_says_so_in_words()
    {
        await using var host = await PageHost.Start();
        Assert.Contains("2 min late", await Draw(host, new RoadLeg("To Harbour Street", 17, 6.4m, -2)), StringComparison.Ordinal);
        Assert.Contains("6 min spare", await Draw(host, new RoadLeg("To Quarry Rise", 9, 2.8m, 6)), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_name_is_written_as_text_and_never_as_markup()
    {
        await using var host = await PageHost.Start();
        var html = await Draw(host, new RoadStop("<b>Wren</b>", StopState.Ahead) { Actions = [new("/x?a=1&b=2", "Brief")] });

        Assert.Contains("&lt;b&gt;Wren&lt;/b&gt;", html, StringComparison.Ordinal);
        Assert.Contains("/x?a=1&amp;b=2", html, StringComparison.Ordinal);
    }

    private static Task<string> Draw(PageHost host, RoadPart part) =>
        host.Partial("/Platform/Layout/Strip/_RoadStrip.cshtml", new RoadStrip("Your day in order", [part]));
}
