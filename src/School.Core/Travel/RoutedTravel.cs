using NodaTime;

namespace School.Core.Travel;

/// <summary>A drive as a routing server told it: the same at every hour.</summary>
/// <param name="Seconds">How long; finite, not negative.</param>
/// <param name="Metres">How far by road; finite, not negative.</param>
public readonly record struct RoutedDrive(double Seconds, double Metres)
{
    private const double LongestSeconds = 12 * 3600;
    private const double FastestMetresPerSecond = 45; // 100 mph on average; motorway limits lie at 31 to 39
    private const double RoundingMetres = 50; // servers round to tenths of a second and of a metre
    private const double SnapMetres = 2_000; // places lie beside roads, and the server moves each onto one

    /// <summary>Why the drive cannot be true between two places; null when it can.</summary>
    public string? ProblemBetween(Coordinates from, Coordinates to)
    {
        if (!double.IsFinite(Seconds) || !double.IsFinite(Metres) || Seconds < 0 || Metres < 0)
        {
            return "a duration or distance is negative or not a number";
        }

        if (Seconds > LongestSeconds)
        {
            return "a drive takes more than 12 hours";
        }

        var straight = from.DistanceMetres(to) - SnapMetres;
        if (Metres > (Seconds * FastestMetresPerSecond) + RoundingMetres)
        {
            return "a drive is quicker than 100 miles an hour";
        }

        return Metres < straight || Seconds * FastestMetresPerSecond < straight ? "a drive is shorter or quicker than the straight line allows" : null;
    }
}

/// <summary>Travel times that a routing server gave beforehand; a pure look-up. What it did not give is estimated.</summary>
/// <param name="drives">The known drives, by the exact places.</param>
/// <param name="fallback">Estimates the others.</param>
public sealed class RoutedTravel(IReadOnlyDictionary<(Coordinates From, Coordinates To), RoutedDrive> drives, ITravelTimes fallback) : ITravelTimes
{
    /// <inheritdoc/>
    public Leg Between(Coordinates origin, Coordinates destination, LocalDateTime leaving)
    {
        if (origin == destination)
        {
            return Leg.None;
        }

        return drives.TryGetValue((origin, destination), out var drive)
            ? new(Math.Max(1, (int)Math.Ceiling(drive.Seconds / 60)), drive.Metres / StraightLineTravel.MetresPerMile)
            : fallback.Between(origin, destination, leaving);
    }
}
