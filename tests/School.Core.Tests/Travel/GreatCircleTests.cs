using CsCheck;
using School.Core.Travel;
using Xunit;

namespace School.Core.Tests.Travel;

public sealed class GreatCircleTests
{
    private static readonly Gen<Coordinates> AnyPlace =
        Gen.Select(Gen.Double[-90, 90], Gen.Double[-180, 180]).Select((latitude, longitude) => new Coordinates(latitude, longitude));

    // Ed Williams, Aviation Formulary, worked examples (from memory): LAX 33°57′N 118°24′W, JFK 40°38′N 73°47′W,
    // distance 0.623585 radians or 2144 nautical miles of one minute of arc.
    [Fact]
    public void Los_Angeles_to_New_York_is_the_published_angle()
    {
        var lax = new Coordinates(33 + 57 / 60.0, -(118 + 24 / 60.0));
        var jfk = new Coordinates(40 + 38 / 60.0, -(73 + 47 / 60.0));

        var radians = lax.DistanceMetres(jfk) / Coordinates.EarthRadiusMetres;

        Assert.Equal(0.623585, radians, 6);
        Assert.Equal(2144, double.RadiansToDegrees(radians) * 60, 0);
    }

    [Fact]
    public void From_pole_to_pole_is_half_way_round() =>
        Assert.Equal(Math.PI * Coordinates.EarthRadiusMetres, new Coordinates(90, 0).DistanceMetres(new Coordinates(-90, 77)), 3);

    [Fact]
    public void The_shorter_way_is_taken_across_the_date_line() =>
        Assert.Equal(Math.PI / 90 * Coordinates.EarthRadiusMetres, new Coordinates(0, 179).DistanceMetres(new Coordinates(0, -179)), 3);

    [Fact]
    public void Distance_is_a_metric() =>
        Gen.Select(AnyPlace, AnyPlace, AnyPlace).Sample((a, b, c) =>
        {
            Assert.Equal(a.DistanceMetres(b), b.DistanceMetres(a), 6);
            Assert.Equal(0, a.DistanceMetres(a));
            Assert.True(a.DistanceMetres(c) <= a.DistanceMetres(b) + b.DistanceMetres(c) + 0.001);
        });

    // Spherical law of cosines, the other textbook formula; it loses figures near 0 and near half way round.
    [Fact]
    public void Haversine_agrees_with_the_law_of_cosines() =>
        Gen.Select(AnyPlace, AnyPlace).Sample((a, b) =>
        {
            var (lat1, lat2) = (double.DegreesToRadians(a.Latitude), double.DegreesToRadians(b.Latitude));
            var cosine = Math.Sin(lat1) * Math.Sin(lat2)
                + Math.Cos(lat1) * Math.Cos(lat2) * Math.Cos(double.DegreesToRadians(a.Longitude - b.Longitude));
            if (Math.Abs(cosine) < 0.999)
            {
                Assert.Equal(Math.Acos(cosine) * Coordinates.EarthRadiusMetres, a.DistanceMetres(b), 2);
            }
        });

    [Theory]
    [InlineData(90, 180, true)]
    [InlineData(-90, -180, true)]
    [InlineData(90.0001, 0, false)]
    [InlineData(0, -180.0001, false)]
    [InlineData(double.NaN, 0, false)]
    [InlineData(0, double.PositiveInfinity, false)]
    public void Coordinates_lie_on_the_earth(double latitude, double longitude, bool valid)
    {
        Assert.Equal(valid, Coordinates.TryCreate(latitude, longitude, out var made));
        if (valid)
        {
            Assert.Equal(new Coordinates(latitude, longitude), made);
        }
        else
        {
            Assert.Throws<ArgumentOutOfRangeException>(() => new Coordinates(latitude, longitude));
        }
    }
}
