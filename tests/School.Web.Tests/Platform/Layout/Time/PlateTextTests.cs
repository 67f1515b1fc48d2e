using NodaTime;
using School.Web.Platform.Layout.Time;
using Xunit;

namespace School.Web.Tests.Platform.Layout.Time;

public sealed class PlateTextTests
{
    private static readonly TimePlate Plate = new(new(Instant.FromUtc(2026, 11, 26, 9, 0), Instant.FromUtc(2026, 11, 26, 10, 0)), PlateState.Taught, "taught", "Idris Bell", "/");

    [Fact]
    public void A_name_stands_on_one_line_where_it_fits_else_first_over_last()
    {
        Assert.Equal(["09:00–10:30", "Idris Bell", "taught"], High(Plate, 90, 115));
        Assert.Equal(["09:00", "Idris", "Bell"], High(Plate, 60, 70));
        Assert.Equal(["09:00", "Edwin", "Thacker…"], High(Plate with { Who = "Edwin Thackeray-Moss" }, 60, 76));
    }

    [Fact]
    public void What_is_booked_does_not_say_so_since_nothing_else_says_anything() =>
        Assert.Equal(["09:00–10:30", "Idris Bell"], High(Plate with { State = PlateState.Booked, Word = "booked" }, 90, 115));

    [Theory]
    [InlineData(44, 60, "09:00")]
    [InlineData(30, 48, "09:00")]
    [InlineData(15, 19, "")]
    [InlineData(45, 76, "09:00 Idris Bell")]
    public void Under_45_minutes_a_plate_shows_its_time_alone_or_nothing(int minutes, int pixels, string words) =>
        Assert.Equal(words, string.Join(' ', High(Plate, minutes, pixels)));

    [Theory]
    [InlineData(160, "09:00 Idris Bell")]
    [InlineData(92, "09:00 Idris")]
    [InlineData(60, "09:00")]
    [InlineData(20, "")]
    public void One_line_holds_the_start_and_as_much_of_the_name_as_goes_beside_it(int pixels, string words) =>
        Assert.Equal(words, string.Concat(PlateText.Low(Plate, 60, pixels, "09:00").Select(line => line.Text + line.Tail)));

    [Fact]
    public void A_name_from_right_to_left_is_isolated_and_no_other()
    {
        Assert.Equal("\u2068נועה לוי\u2069", PlateText.Isolated("נועה לוי"));
        Assert.Equal("\u2068ليلى حداد\u2069", PlateText.Isolated("ليلى حداد"));
        Assert.Equal("Zofia Lindqvist", PlateText.Isolated("Zofia Lindqvist"));
        Assert.Equal(["09:00–10:30", "\u2068נועה לוי\u2069", "taught"], High(Plate with { Who = "נועה לוי" }, 90, 115));
        var label = TimeDrawingTests.Draw(TimeDrawingTests.Lane(new(2026, 11, 26), Plate with { Who = "נועה לוי" })).Lanes.Single().Plates.Single().Label;
        Assert.StartsWith("\u2068נועה לוי\u2069, 09:00 to 10:00", label, StringComparison.Ordinal);
    }

    [Fact]
    public void Letters_are_cut_whole()
    {
        // Each of these is one letter to its reader and several code points.
        Assert.Equal("e\u0301e\u0301e\u0301…", PlateText.Cut("e\u0301e\u0301e\u0301e\u0301e\u0301e\u0301", 30));
        Assert.Null(PlateText.Cut("Harbour Street", 20));
        Assert.Equal("Mill Lane", PlateText.Cut("Mill Lane", 70));
        Assert.Null(PlateText.Cut("", 70));
    }

    private static IEnumerable<string> High(TimePlate plate, int minutes, int pixels) => PlateText.High(plate, minutes, pixels, "09:00", "10:30").Select(line => line.Text + line.Tail);
}
