namespace School.Core.Travel;

/// <summary>A point on the earth in degrees (WGS 84): latitude −90 to 90, longitude −180 to 180.</summary>
/// <param name="Latitude">Degrees north of the equator.</param>
/// <param name="Longitude">Degrees east of Greenwich.</param>
/// <exception cref="ArgumentOutOfRangeException">A number is out of bounds or not a number. Use
/// <see cref="TryCreate"/> for what somebody typed.</exception>
public readonly partial record struct Coordinates(double Latitude, double Longitude)
{
    /// <summary>Mean radius R₁ of the earth in metres (IUGG, from WGS 84 axes: (2a + b) / 3).</summary>
    public const double EarthRadiusMetres = 6_371_008.8;

    /// <summary>Degrees north of the equator.</summary>
    public double Latitude { get; } = IsWithin(Latitude, 90)
        ? Latitude : throw new ArgumentOutOfRangeException(nameof(Latitude), Latitude, "Latitude lies between −90 and 90.");

    /// <summary>Degrees east of Greenwich.</summary>
    public double Longitude { get; } = IsWithin(Longitude, 180)
        ? Longitude : throw new ArgumentOutOfRangeException(nameof(Longitude), Longitude, "Longitude lies between −180 and 180.");

    /// <summary>The point, unless a number is out of bounds or not a number.</summary>
    public static bool TryCreate(double latitude, double longitude, out Coordinates coordinates)
    {
        var valid = IsWithin(latitude, 90) && IsWithin(longitude, 180);
        coordinates = valid ? new Coordinates(latitude, longitude) : default;
        return valid;
    }

    /// <summary>Great-circle distance in metres on a sphere of <see cref="EarthRadiusMetres"/> (haversine formula;
    /// within about 0.5 % of the ellipsoid).</summary>
    public double DistanceMetres(Coordinates other)
    {
        var (lat1, lat2) = (double.DegreesToRadians(Latitude), double.DegreesToRadians(other.Latitude));
        var sinLat = Math.Sin((lat2 - lat1) / 2);
        var sinLon = Math.Sin(double.DegreesToRadians(other.Longitude - Longitude) / 2);
        var h = sinLat * sinLat + Math.Cos(lat1) * Math.Cos(lat2) * sinLon * sinLon;
        return 2 * EarthRadiusMetres * Math.Asin(Math.Min(1, Math.Sqrt(h)));
    }

    // Also false for NaN.
    private static bool IsWithin(double value, double bound) => Math.Abs(value) <= bound;
}
