using CsCheck;
using School.Core.Diary;
using School.Core.Travel;

namespace School.Core.Tests.Diary;

public sealed class MapLinksTests
{
    /// <summary>The example of RFC 5870, section 6.1, without its altitude.</summary>
    [Fact]
    public void Without_a_pattern_it_is_the_geo_address_of_the_standard() => Assert.Equal("geo:48.201,16.3695", MapLinks.Of("", new(48.2010, 16.3695)));

    [Fact]
    public void A_pattern_of_the_school_says_where()
    {
        const string Pattern = "https://maps.larkfield.example/to?lat={latitude}&lon={longitude}";
        Assert.Null(MapLinks.Fault(Pattern));
        Assert.Equal("https://maps.larkfield.example/to?lat=-0.5&lon=0", MapLinks.Of(Pattern, new(-0.5, -0.0000001)));
    }

    [Theory]
    [InlineData("https://maps.larkfield.example/", "must say {latitude} and {longitude}")]
    [InlineData("https://maps.larkfield.example/{latitude}", "must say {latitude} and {longitude}")]
    [InlineData("http://maps.larkfield.example/{latitude},{longitude}", "begins with https://")]
    [InlineData("javascript:go({latitude},{longitude})", "begins with https://")]
    [InlineData("//maps.larkfield.example/{latitude},{longitude}", "begins with https://")]
    [InlineData("https://{latitude}{longitude}:x@/", "begins with https://")]
    [InlineData("https://user@maps.larkfield.example/{latitude},{longitude}", "begins with https://")]
    [InlineData("https://maps.larkfield.example/{latitude},{longitude}/{name}", "begins with https://")]
    [InlineData("https://maps.larkfield.example/{latitude}, {longitude}", "begins with https://")]
    public void What_is_no_link_to_a_place_is_refused(string pattern, string says) => Assert.Contains(says, MapLinks.Fault(pattern), StringComparison.Ordinal);

    [Fact]
    public void A_pattern_has_a_longest_length()
    {
        var pattern = "https://maps.larkfield.example/{latitude},{longitude}".PadRight(MapLinks.Longest, 'x');
        Assert.Null(MapLinks.Fault(pattern));
        Assert.Contains("at most 300 characters", MapLinks.Fault(pattern + "x"), StringComparison.Ordinal);
    }

    [Fact]
    public void Over_all_places_the_address_says_the_place_to_a_tenth_of_a_metre() => Gen.Select(Gen.Double[-90, 90], Gen.Double[-180, 180]).Sample(place =>
    {
        var (latitude, longitude) = place;
        Assert.True(CoordinatesText.TryParse(MapLinks.Of("", new(latitude, longitude)), out var north, out var east, out _)
            && Math.Abs(north - latitude) < 1e-6 && (Math.Abs(east - longitude) < 1e-6 || Math.Abs(latitude) > 89.99999));
    });
}
