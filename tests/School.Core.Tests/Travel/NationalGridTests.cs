using CsCheck;
using ProjNet.CoordinateSystems;
using ProjNet.CoordinateSystems.Transformations;
using School.Core.Travel;

namespace School.Core.Tests.Travel;

/// <summary>The National Grid by published examples, and by a general library that was written by others.</summary>
public sealed class NationalGridTests
{
    // EPSG:27700 with the seven parameters of docs.os.uk, "Approximate WGS84 to OSGB36/ODN transformation", signs turned.
    private const string OsgbWkt = """
        PROJCS["OSGB36 / British National Grid",
          GEOGCS["OSGB36", DATUM["OSGB_1936", SPHEROID["Airy 1830", 6377563.396, 299.3249646],
            TOWGS84[446.448, -125.157, 542.060, 0.1502, 0.2470, 0.8421, -20.4894]],
            PRIMEM["Greenwich", 0], UNIT["degree", 0.0174532925199433]],
          PROJECTION["Transverse_Mercator"], PARAMETER["latitude_of_origin", 49], PARAMETER["central_meridian", -2],
          PARAMETER["scale_factor", 0.9996012717], PARAMETER["false_easting", 400000], PARAMETER["false_northing", -100000],
          UNIT["metre", 1]]
        """;

    private const double Millimetre = 1e-8; // of latitude, in degrees, about

    private static readonly MathTransform Judge = new CoordinateTransformationFactory()
        .CreateFromCoordinateSystems(new CoordinateSystemFactory().CreateFromWkt(OsgbWkt), GeographicCoordinateSystem.WGS84).MathTransform;

    // "A guide to coordinate systems in Great Britain", annex C: the worked example (Caister water tower), 52°39′27.2531″ N 1°43′4.5177″ E.
    // EPSG guidance note 7-2, Transverse Mercator: 50.5° N 0.5° E at 577274.99, 69740.50, to a centimetre.
    [Theory]
    [InlineData(651409.903, 313177.270, 52 + 39 / 60d + 27.2531 / 3600, 1 + 43 / 60d + 4.5177 / 3600, 2 * Millimetre)]
    [InlineData(577274.99, 69740.50, 50.5, 0.5, 20 * Millimetre)]
    public void The_published_examples_come_out_on_Airys_ellipsoid(double easting, double northing, double latitude, double longitude, double within)
    {
        var found = NationalGrid.ToAiry1830(easting, northing);

        Assert.Equal(latitude, found.Latitude, within);
        Assert.Equal(longitude, found.Longitude, within);
    }

    // Caister: the guide's own WGS 84 by its seven parameters. The others worked out with the guide's formulas and agreed by two libraries.
    [Theory]
    [InlineData(651409.903, 313177.270, 52.6579786, 1.7160519)]
    [InlineData(530626, 183961, 51.539442, -0.117873)]
    [InlineData(542733, 174310, 51.449793, 0.052685)]
    [InlineData(134200, 25300, 50.068271, -5.715770)]
    [InlineData(447000, 1141000, 60.150796, -1.155329)]
    public void Points_of_the_grid_come_out_in_WGS84(double easting, double northing, double latitude, double longitude)
    {
        Assert.True(NationalGrid.TryToWgs84(easting, northing, out var at));
        Assert.Equal(latitude, at.Latitude, 1e-6);
        Assert.Equal(longitude, at.Longitude, 1e-6);
    }

    // ETRS89 by the exact transformation (OSTN02), published with it for Caister; the shift of the mean parameters may be off by 5 m.
    [Fact]
    public void A_point_lies_within_five_metres_of_where_the_exact_transformation_has_it()
    {
        Assert.True(NationalGrid.TryToWgs84(651409.792, 313177.448, out var at));
        Assert.InRange(at.DistanceMetres(new(52.658007833, 1.716073973)), 0, 5);
    }

    [Fact]
    public void Anywhere_on_the_grid_a_general_library_says_the_same() => Gen.Select(Gen.Double[1, 699_999], Gen.Double[1, 1_299_999]).Sample(
        (easting, northing) =>
        {
            var (longitude, latitude) = Judge.Transform(easting, northing);
            Assert.True(NationalGrid.TryToWgs84(easting, northing, out var at));
            Assert.InRange(at.DistanceMetres(new(latitude, longitude)), 0, 0.05);
        },
        iter: 2_000);

    [Theory]
    [InlineData(-1, 0)]
    [InlineData(700_000, 0)]
    [InlineData(0, 1_300_000)]
    [InlineData(double.NaN, 10)]
    public void What_lies_off_the_grid_is_refused(double easting, double northing) =>
        Assert.False(NationalGrid.TryToWgs84(easting, northing, out _));
}
