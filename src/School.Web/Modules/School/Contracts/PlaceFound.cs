using School.Core.Travel;

namespace School.Web.Modules.School.Contracts;

/// <summary>What was looked up about a place that somebody sent.</summary>
/// <param name="Place">A place of a list that was chosen as it is, or a position alone.</param>
/// <param name="WhyNot">A sentence, where nothing was found.</param>
internal sealed record PlaceFound(Place? Place, string? WhyNot = null)
{
    /// <summary>The middle of its postcode district, where it is left open.</summary>
    public Coordinates? Middle { get; init; }

    /// <summary>Whether a place of a list was asked for.</summary>
    public bool Chosen { get; init; }

    public static PlaceFound Gone { get; } = new(null, "That place is not on the list any more. Choose another.") { Chosen = true };

    public static PlaceFound Known(Place place) => new(place) { Chosen = true };

    public static PlaceFound ByPostcode(Coordinates at, bool roughly) => new(new Place
    {
        Label = "",
        Address = "",
        Postcode = "",
        Latitude = at.Latitude,
        Longitude = at.Longitude,
        Certainty = roughly ? PlaceCertainty.Roughly : PlaceCertainty.Exact,
    });
}
