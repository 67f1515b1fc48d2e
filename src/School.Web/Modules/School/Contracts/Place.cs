using School.Core.Travel;

namespace School.Web.Modules.School.Contracts;

/// <summary>Where somebody is met or left: a label, an address and a point. Kept whole by whoever uses it, so that old lessons keep theirs.</summary>
internal sealed record Place
{
    public const int LongestLabel = 60;
    public const int LongestAddress = 200;

    /// <summary>Short name beside a lesson, such as "Mill Lane".</summary>
    public required string Label { get; init; }

    public required string Address { get; init; }

    /// <summary>Normalised, or empty where there is none.</summary>
    public required string Postcode { get; init; }

    public required double Latitude { get; init; }

    public required double Longitude { get; init; }

    public Coordinates At() => new(Latitude, Longitude);
}
