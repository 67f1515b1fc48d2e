using School.Core.Travel;
using School.Web.Demo;
using School.Web.Modules.School.Contracts;

namespace School.Web.Tests.Demo;

/// <summary>The invented postcodes are read as published ones are, and lie where the invented streets do.</summary>
public sealed class LarkfieldPostcodesTests
{
    // The grid's mean parameters are good to about 5 m (OS, Guide to coordinate systems in Great Britain, 6.6); both ends here use them.
    private const double Metres = 2;

    private static readonly Dictionary<string, PostcodePoint> Points = File.ReadLines(DemoPlaces.File).Select(line =>
    {
        Assert.True(CodePoint.Read(line, CodePointColumns.Published, out var point, out var problem) == CodePointKind.Taken, problem);
        return point;
    }).ToDictionary(point => point.Postcode);

    [Fact]
    public void Every_street_has_a_postcode_of_its_own_in_its_middle()
    {
        var streets = Enumerable.Range(0, Larkfield.StreetCount).Select(Larkfield.StreetOf).ToList();

        Assert.Equal(Larkfield.StreetCount, streets.Select(street => street.Postcode).Distinct().Count());
        Assert.All([.. streets, Larkfield.College, Larkfield.School, Larkfield.TestCentre, Larkfield.Station], Near);
    }

    [Fact]
    public void Everybody_lives_at_a_postcode_of_the_file_and_within_half_a_mile_of_it()
    {
        Assert.All(Enumerable.Range(0, Larkfield.PupilCount), n => Assert.InRange(Away(Larkfield.PlaceOf(n)), 0, 805));
        Assert.All(Points.Keys, postcode => Assert.StartsWith("LK", postcode, StringComparison.Ordinal));
    }

    private static void Near(Place place) => Assert.InRange(Away(place), 0, Metres);

    private static double Away(Place place)
    {
        var (a, b) = (Points[place.Postcode].At, place.At());
        var (north, east) = ((a.Latitude - b.Latitude) * 111_300, (a.Longitude - b.Longitude) * 111_300 * Math.Cos(double.DegreesToRadians(a.Latitude)));
        return Math.Sqrt((north * north) + (east * east));
    }
}
