namespace School.Core.Travel;

/// <summary>The National Grid of Great Britain (OSGB36 on Airy's ellipsoid of 1830, EPSG:27700), turned into latitude and longitude.</summary>
/// <remarks>
/// Source: Ordnance Survey, "A guide to coordinate systems in Great Britain", annexes B and C, and "Approximate WGS84 to OSGB36/ODN
/// transformation" (docs.os.uk). The seven parameters are a mean for the whole island: a point lies within about 5 metres of where it is,
/// which will do to meet somebody and to work out a drive.
/// </remarks>
public static class NationalGrid
{
    /// <summary>Eastings of the grid lie from 0 to below this, in metres.</summary>
    public const double WidestEasting = 700_000;

    /// <summary>Northings of the grid lie from 0 to below this, in metres.</summary>
    public const double FurthestNorthing = 1_300_000;

    private const double F0 = 0.9996012717;
    private const double TrueEasting = 400_000;
    private const double TrueNorthing = -100_000;
    private const double SecondsOfArc = 3600;

    private static readonly Ellipsoid Airy1830 = new(6_377_563.396, 6_356_256.909);
    private static readonly Ellipsoid Wgs84 = new(6_378_137, 6_356_752.3142);
    private static readonly double OriginLatitude = double.DegreesToRadians(49);
    private static readonly double OriginLongitude = double.DegreesToRadians(-2);

    // From OSGB36 to WGS84: the published ones, which lead the other way, with their signs turned.
    private static readonly Cartesian Shift = new(446.448, -125.157, 542.060);
    private static readonly Cartesian Rotation = new(Arc(0.1502), Arc(0.2470), Arc(0.8421));
    private const double Scale = 1 - 20.4894e-6;

    /// <summary>The point in WGS 84, unless it lies off the grid.</summary>
    /// <param name="easting">Metres east of the false origin, 0 to <see cref="WidestEasting"/>.</param>
    /// <param name="northing">Metres north of the false origin, 0 to <see cref="FurthestNorthing"/>.</param>
    /// <param name="at">Where it lies; the zero point when refused.</param>
    public static bool TryToWgs84(double easting, double northing, out Coordinates at)
    {
        var onGrid = easting is >= 0 and < WidestEasting && northing is >= 0 and < FurthestNorthing;
        at = onGrid ? Degrees(Wgs84.Point(Moved(Airy1830.Cartesian(OnAiry(easting, northing))))) : default;
        return onGrid;
    }

    /// <summary>Latitude and longitude on Airy's ellipsoid, in degrees: not what a map or a satellite receiver uses.</summary>
    /// <param name="easting">Metres east of the false origin.</param>
    /// <param name="northing">Metres north of the false origin.</param>
    public static (double Latitude, double Longitude) ToAiry1830(double easting, double northing)
    {
        var (latitude, longitude) = OnAiry(easting, northing);
        return (double.RadiansToDegrees(latitude), double.RadiansToDegrees(longitude));
    }

    // Annex C, "converting eastings and northings to latitude and longitude"; the names are the guide's.
    private static (double Latitude, double Longitude) OnAiry(double easting, double northing)
    {
        var (a, e2) = (Airy1830.A * F0, Airy1830.E2);
        var latitude = OriginLatitude;
        double off;
        do
        {
            off = northing - TrueNorthing - MeridianArc(latitude);
            latitude += off / a;
        }
        while (Math.Abs(off) >= 0.00001);

        var (sin, cos, tan) = (Math.Sin(latitude), Math.Cos(latitude), Math.Tan(latitude));
        var nu = a / Math.Sqrt(1 - e2 * sin * sin);
        var rho = a * (1 - e2) * Math.Pow(1 - e2 * sin * sin, -1.5);
        var eta2 = nu / rho - 1;
        var (tan2, sec) = (tan * tan, 1 / cos);
        var (tan4, nu2) = (tan2 * tan2, nu * nu);
        var vii = tan / (2 * rho * nu);
        var viii = tan / (24 * rho * nu * nu2) * (5 + 3 * tan2 + eta2 - 9 * tan2 * eta2);
        var ix = tan / (720 * rho * nu * nu2 * nu2) * (61 + 90 * tan2 + 45 * tan4);
        var x = sec / nu;
        var xi = sec / (6 * nu * nu2) * (nu / rho + 2 * tan2);
        var xii = sec / (120 * nu * nu2 * nu2) * (5 + 28 * tan2 + 24 * tan4);
        var xiia = sec / (5040 * nu * nu2 * nu2 * nu2) * (61 + 662 * tan2 + 1320 * tan4 + 720 * tan4 * tan2);
        var d = easting - TrueEasting;
        var d2 = d * d;
        return (
            latitude - vii * d2 + viii * d2 * d2 - ix * d2 * d2 * d2,
            OriginLongitude + x * d - xi * d * d2 + xii * d * d2 * d2 - xiia * d * d2 * d2 * d2);
    }

    // The guide's M, from the true origin's parallel.
    private static double MeridianArc(double latitude)
    {
        var n = (Airy1830.A - Airy1830.B) / (Airy1830.A + Airy1830.B);
        var (n2, n3) = (n * n, n * n * n);
        var (less, more) = (latitude - OriginLatitude, latitude + OriginLatitude);
        return Airy1830.B * F0 * (
            (1 + n + 1.25 * n2 + 1.25 * n3) * less
            - (3 * n + 3 * n2 + 2.625 * n3) * Math.Sin(less) * Math.Cos(more)
            + (1.875 * n2 + 1.875 * n3) * Math.Sin(2 * less) * Math.Cos(2 * more)
            - 35d / 24 * n3 * Math.Sin(3 * less) * Math.Cos(3 * more));
    }

    private static Cartesian Moved(Cartesian from) => new(
        Shift.X + Scale * from.X - Rotation.Z * from.Y + Rotation.Y * from.Z,
        Shift.Y + Rotation.Z * from.X + Scale * from.Y - Rotation.X * from.Z,
        Shift.Z - Rotation.Y * from.X + Rotation.X * from.Y + Scale * from.Z);

    private static Coordinates Degrees((double Latitude, double Longitude) radians) =>
        new(double.RadiansToDegrees(radians.Latitude), double.RadiansToDegrees(radians.Longitude));

    private static double Arc(double seconds) => double.DegreesToRadians(seconds / SecondsOfArc);

    private readonly record struct Cartesian(double X, double Y, double Z);

    private sealed record Ellipsoid(double A, double B)
    {
        public double E2 { get; } = 1 - B * B / (A * A);

        public Cartesian Cartesian((double Latitude, double Longitude) at)
        {
            var (sin, cos) = Math.SinCos(at.Latitude);
            var nu = A / Math.Sqrt(1 - E2 * sin * sin);
            return new(nu * cos * Math.Cos(at.Longitude), nu * cos * Math.Sin(at.Longitude), nu * (1 - E2) * sin);
        }

        public (double Latitude, double Longitude) Point(Cartesian from)
        {
            var p = double.Hypot(from.X, from.Y);
            var latitude = Math.Atan2(from.Z, p * (1 - E2));
            double before;
            do
            {
                before = latitude;
                var sin = Math.Sin(latitude);
                latitude = Math.Atan2(from.Z + E2 * A / Math.Sqrt(1 - E2 * sin * sin) * sin, p);
            }
            while (Math.Abs(latitude - before) > 1e-12);

            return (latitude, Math.Atan2(from.Y, from.X));
        }
    }
}
