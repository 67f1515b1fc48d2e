using System.Text.Json.Serialization;
using School.Core;
using School.Core.Travel;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.School.Contracts;

/// <summary>
/// A place as a form or the API sends it. Where it is comes as two numbers, or as <c>Position</c>: a <c>geo:</c> address or
/// "lat, lon". It must come, since driving times are worked out from it.
/// </summary>
internal sealed record PlaceInput(
    [property: AtMost(Place.LongestLabel)] string? Label = null, [property: AtMost(Place.LongestAddress)] string? Address = null, [property: AtMost(Core.Travel.Postcode.LongestTyped)] string? Postcode = null,
    [property: Between(-90, 90)] double? Latitude = null, [property: Between(-180, 180)] double? Longitude = null, [property: AtMost(CoordinatesText.LongestTyped)] string? Position = null)
{
    /// <summary>Only forms ask: whether the position stays although the address changed. Null where nobody asked.</summary>
    [JsonIgnore]
    public bool? StillRight { get; init; }

    /// <summary>The place as a form shows it for changing.</summary>
    public static PlaceInput Of(Place place) => new(place.Label, place.Address, place.Postcode, Position: FormattableString.Invariant($"{place.Latitude}, {place.Longitude}"));
}

/// <summary>A place as the API tells it; it can be sent back as <see cref="PlaceInput"/>.</summary>
internal sealed record PlaceView(string Label, string Address, string Postcode, double Latitude, double Longitude)
{
    public static PlaceView Of(Place place) => new(place.Label, place.Address, place.Postcode, place.Latitude, place.Longitude);
}

internal static class PlaceReading
{
    /// <summary>A position alone, from two numbers of a query such as pickUpLatitude and pickUpLongitude; null when neither was sent.</summary>
    public static Place? ReadPosition(this FieldErrors errors, string field, double? latitude, double? longitude)
    {
        if (latitude is null && longitude is null)
        {
            return null;
        }

        errors.When(latitude is not (>= -90 and <= 90), $"{field}Latitude", "Latitude is a number from -90 to 90; send longitude with it.");
        errors.When(longitude is not (>= -180 and <= 180), $"{field}Longitude", "Longitude is a number from -180 to 180; send latitude with it.");
        return errors.Any ? null : new() { Label = "", Address = "", Postcode = "", Latitude = latitude!.Value, Longitude = longitude!.Value };
    }

    private const int Decimals = 6; // about a tenth of a metre
    private const string OnlyTheAddress =
        "The address changed but the position did not. Enter the new position, or tick “The position is still right”.";

    private const string NoPosition = "Enter latitude and longitude, such as 52.4003, -1.2004: driving times are worked out from them.";

    /// <summary>The place, or null when something about it was not right.</summary>
    /// <param name="errors">Takes what is wrong.</param>
    /// <param name="field">Name of the field that holds the place, such as "PickUp".</param>
    /// <param name="input">What was sent.</param>
    /// <param name="before">The place as it stood; null when it is new.</param>
    public static Place? ReadPlace(this FieldErrors errors, string field, PlaceInput? input, Place? before = null)
    {
        if (input is null)
        {
            errors.Add(field, "Say where: a label, an address, and latitude and longitude.");
            return null;
        }

        var own = new FieldErrors();
        var label = own.ReadLine($"{field}.Label", input.Label, Place.LongestLabel, "Enter a short name for the place, such as Mill Lane.");
        var address = own.ReadLine($"{field}.Address", input.Address, Place.LongestAddress, "Enter the address.");
        var postcode = ReadPostcode(own, $"{field}.Postcode", input.Postcode);
        var at = ReadPosition(own, field, input);
        var place = new Place
        {
            Label = label,
            Address = address,
            Postcode = postcode,
            Latitude = Math.Round(at.Latitude, Decimals),
            Longitude = Math.Round(at.Longitude, Decimals),
        };
        own.When(input.StillRight == false && !own.Any && before is not null && OnlyTheAddressChanged(before, place), $"{field}.Position", OnlyTheAddress);
        errors.AddAll(own);
        return own.Any ? null : place;
    }

    private static bool OnlyTheAddressChanged(Place before, Place after) =>
        (before.Address, before.Postcode) != (after.Address, after.Postcode) && (before.Latitude, before.Longitude) == (after.Latitude, after.Longitude);

    private static string ReadPostcode(FieldErrors errors, string field, string? typed)
    {
        if (string.IsNullOrWhiteSpace(typed))
        {
            return "";
        }

        if (Postcode.TryParse(typed, out var postcode, out var problem))
        {
            return postcode.ToString();
        }

        errors.Add(field, problem.Sentence);
        return "";
    }

    private static Coordinates ReadPosition(FieldErrors errors, string field, PlaceInput input)
    {
        var hasNumbers = input.Latitude is not null || input.Longitude is not null;
        if (!string.IsNullOrWhiteSpace(input.Position))
        {
            errors.When(hasNumbers, $"{field}.Position", "Send either the position or latitude and longitude, not both.");
            if (CoordinatesText.TryParse(input.Position, out var latitude, out var longitude, out var problem))
            {
                return new(latitude, longitude);
            }

            errors.Add($"{field}.Position", problem);
            return default;
        }

        errors.When(!hasNumbers, $"{field}.Position", NoPosition);
        errors.When(hasNumbers && input.Latitude is not (>= -90 and <= 90), $"{field}.Latitude", "Latitude is a number from -90 to 90.");
        errors.When(hasNumbers && input.Longitude is not (>= -180 and <= 180), $"{field}.Longitude", "Longitude is a number from -180 to 180.");
        return Coordinates.TryCreate(input.Latitude ?? 0, input.Longitude ?? 0, out var at) ? at : default;
    }
}
