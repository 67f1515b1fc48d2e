using System.Globalization;
using CsCheck;
using School.Core.Travel;

namespace School.Core.Tests.Travel;

public class CoordinatesTextTests
{
    // The first is the IANA registry's example; the others are RFC 5870 sections 1, 3.4.2 and 6 (from memory) and our own.
    [Theory]
    [InlineData("geo:51.5014,-0.1419;u=35", 51.5014, -0.1419)]
    [InlineData("geo:13.4125,103.8667", 13.4125, 103.8667)]
    [InlineData("geo:48.2010,16.3695,183", 48.201, 16.3695)]
    [InlineData("geo:48.198634,16.371648;crs=wgs84;u=40", 48.198634, 16.371648)]
    [InlineData("GEO:66,30;CRS=WGS84;u=6.500;FOo=this%2dthat", 66, 30)]
    [InlineData("geo:90,-22.43;crs=WGS84", 90, 0)] // every longitude meets at a pole
    [InlineData("51.5014, -0.1419", 51.5014, -0.1419)]
    [InlineData("  -33.5,+151 ", -33.5, 151)]
    [InlineData("90,180", 90, 0)]
    public void A_geo_address_or_a_pair_of_numbers_is_read(string text, double latitude, double longitude)
    {
        Assert.True(CoordinatesText.TryParse(text, out var north, out var east, out var problem), problem);
        Assert.Equal((latitude, longitude, ""), (north, east, problem));
    }

    [Theory]
    [InlineData(null, "Enter latitude and longitude")]
    [InlineData("", "Enter latitude and longitude")]
    [InlineData("51.5014", "Enter latitude and longitude")]
    [InlineData("51,5014, -0,1419", "Enter latitude and longitude")] // decimal commas
    [InlineData("51.5,-0.1,20", "Enter latitude and longitude")] // altitude only in a geo: address
    [InlineData("51.5,-0.1;u=5", "Enter latitude and longitude")]
    [InlineData("north,-0.1", "latitude “north” is not a decimal number")]
    [InlineData("51.5,", "longitude “” is not a decimal number")]
    [InlineData("geo:51.5,0,high", "altitude “high” is not a decimal number")]
    [InlineData("NaN,0", "latitude “NaN” is not a decimal number")]
    [InlineData("1e1,0", "latitude “1e1” is not a decimal number")]
    [InlineData("90.0001,0", "latitude 90.0001 is out of range: it lies between -90 and 90")]
    [InlineData("-91,0", "latitude -91 is out of range")]
    [InlineData("0,180.5", "longitude 180.5 is out of range: it lies between -180 and 180")]
    [InlineData("geo:66,30;crs=nad27", "“nad27” is not supported")]
    [InlineData("geo:66,30;crs", "“” is not supported")]
    public void Anything_else_is_refused_with_what_is_wrong(string? text, string sentence)
    {
        Assert.False(CoordinatesText.TryParse(text, out var north, out var east, out var problem));
        Assert.Contains(sentence, problem, StringComparison.Ordinal);
        Assert.Equal((0, 0), (north, east));
    }

    [Fact]
    public void Numbers_are_read_the_same_in_every_culture()
    {
        var before = CultureInfo.CurrentCulture;
        try
        {
            CultureInfo.CurrentCulture = CultureInfo.GetCultureInfo("de-DE");
            Assert.True(CoordinatesText.TryParse("51.5014,-0.1419", out var north, out var east, out _));
            Assert.Equal((51.5014, -0.1419), (north, east));
            Assert.False(CoordinatesText.TryParse("90.5,0", out _, out _, out var problem));
            Assert.Contains("90.5", problem, StringComparison.Ordinal);
        }
        finally
        {
            CultureInfo.CurrentCulture = before;
        }
    }

    [Fact]
    public void Whatever_was_written_is_read_back_exactly() =>
        Gen.Select(Gen.Double[-89.9, 89.9], Gen.Double[-180, 180]).Sample((latitude, longitude) =>
        {
            var text = string.Create(CultureInfo.InvariantCulture, $"geo:{latitude:F6},{longitude:F6}");
            Assert.True(CoordinatesText.TryParse(text, out var north, out var east, out _), text);
            // By the platform's own reading of the text: Math.Round scales in binary first, and may round a half the other way.
            Assert.Equal((Read(latitude), Read(longitude)), (north, east));
        });

    private static double Read(double number) => double.Parse(number.ToString("F6", CultureInfo.InvariantCulture), CultureInfo.InvariantCulture);
}
