using NodaTime;

namespace School.Core.Travel;

/// <summary>Travel times from the straight line between two places, a detour factor and the usual speed at that hour.</summary>
/// <remarks>The whole leg is driven at the speed of the hour of leaving.</remarks>
public sealed class StraightLineTravel : ITravelTimes
{
    /// <summary>The international mile.</summary>
    public const double MetresPerMile = 1609.344;

    private readonly StraightLineSettings settings;

    /// <summary>Takes the settings as they are.</summary>
    /// <exception cref="ArgumentException">The settings are not valid.</exception>
    public StraightLineTravel(StraightLineSettings settings)
    {
        if (settings.Validate() is { Count: > 0 } errors)
        {
            throw new ArgumentException(string.Join(" ", errors.Values), nameof(settings));
        }

        this.settings = settings;
    }

    /// <inheritdoc/>
    public Leg Between(Coordinates origin, Coordinates destination, LocalDateTime leaving)
    {
        if (origin == destination)
        {
            return Leg.None;
        }

        return new Leg((int)Math.Ceiling(ExactMinutes(origin, destination, leaving)), RoadMiles(origin, destination));
    }

    /// <summary>Minutes without rounding up.</summary>
    internal double ExactMinutes(Coordinates origin, Coordinates destination, LocalDateTime leaving) =>
        RoadMiles(origin, destination) / settings.SpeedsOf(StraightLineSettings.KindOf(leaving.DayOfWeek))[leaving.Hour] * 60;

    private double RoadMiles(Coordinates origin, Coordinates destination) =>
        origin.DistanceMetres(destination) * settings.DetourFactor / MetresPerMile;
}
