using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.Places.Contracts;

/// <summary>A place on a form of its own (<c>_PlaceLines</c>).</summary>
internal sealed class PlaceLines
{
    public string? Label { get; set; }

    public string? Postcode { get; set; }

    public string? Address { get; set; }

    public string? Position { get; set; }

    public bool ToBeFound { get; set; }

    public bool? StillRight { get; set; }

    public static PlaceLines Of(Place place) => PlaceInput.Of(place) is var at
        ? new() { Label = at.Label, Postcode = at.Postcode, Address = at.Address, Position = at.Position, ToBeFound = at.ToBeFound } : null!;

    public PlaceInput ToInput() => new(Label, Address, Postcode, Position: Position, ToBeFound: ToBeFound) { StillRight = StillRight };
}
