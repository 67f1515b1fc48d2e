using School.Core.Travel;
using Xunit;

namespace School.Core.Tests.Travel;

public sealed class GreatCircleTests
{
    // Ed Williams, Aviation Formulary, worked examples (from memory): LAX 33°57′N 118°24′W, JFK 40°38′N 73°47′W,
    // distance 0.623585 radians.
    [Fact]
    public void Los_Angeles_to_New_York_is_the_published_angle()
    {
        var lax = new Coordinates(33 + 57 / 60.0, -(118 + 24 / 60.0));
        var jfk = new Coordinates(40 + 38 / 60.0, -(73 + 47 / 60.0));

        Assert.Equal(0.623585, lax.DistanceMetres(jfk) / Coordinates.EarthRadiusMetres, 6);
    }
}
