using System.Globalization;
using System.Text.Json.Serialization;
using School.Core;
using School.Core.Travel;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.School.Contracts;

/// <summary>
/// A place as a form or the API sends it: a label and any of a postcode, a position or "to be found", or a place of a list by its id. A
/// position comes as two numbers, or as <c>Position</c>: a <c>geo:</c> address or "lat, lon". Driving times are worked out from it.
/// </summary>
internal sealed record PlaceInput(
    [property: AtMost(Place.LongestLabel)] string? Label = null, [property: AtMost(Place.LongestAddress)] string? Address = null, [property: AtMost(Core.Travel.Postcode.LongestTyped)] string? Postcode = null,
    [property: Between(-90, 90)] double? Latitude = null, [property: Between(-180, 180)] double? Longitude = null, [property: AtMost(CoordinatesText.LongestTyped)] string? Position = null,
    bool ToBeFound = false, PlaceCertainty? Certainty = null, Guid? PlaceId = null)
{
    /// <summary>Only forms ask: whether the position stays although the address changed. Null where nobody asked.</summary>
    [JsonIgnore]
    public bool? StillRight { get; init; }

    /// <summary>What was looked up about it; null where nobody looked.</summary>
    [JsonIgnore]
    public PlaceFound? Found { get; init; }

    /// <summary>Whether the position is left open, however that is said.</summary>
    [JsonIgnore]
    public bool LeftOpen => ToBeFound || (Certainty == PlaceCertainty.ToBeFound && !HasPosition);

    /// <summary>Whether nothing was filled in.</summary>
    [JsonIgnore]
    public bool IsEmpty => PlaceId is null && !LeftOpen && !HasPosition && string.IsNullOrWhiteSpace(Label) && string.IsNullOrWhiteSpace(Address) && string.IsNullOrWhiteSpace(Postcode);

    [JsonIgnore]
    public bool HasPosition => Latitude is not null || Longitude is not null || !string.IsNullOrWhiteSpace(Position);

    /// <summary>The place as a form shows it for changing.</summary>
    public static PlaceInput Of(Place place) => !place.IsKnown ? new() : new(
        place.Label, place.Address, place.Postcode, Position: place.IsFound ? FormattableString.Invariant($"{place.Latitude}, {place.Longitude}") : "",
        ToBeFound: !place.IsFound, Certainty: place.Certainty);
}

/// <summary>A place as the API tells it; it can be sent back as <see cref="PlaceInput"/>. One that is to be found has no position.</summary>
internal sealed record PlaceView(string Label, string Address, string Postcode, double? Latitude, double? Longitude, PlaceCertainty Certainty)
{
    /// <summary>The place; null where nothing is known of it.</summary>
    public static PlaceView? Known(Place place) => place.IsKnown ? Of(place) : null;

    public static PlaceView Of(Place place) => new(
        place.Label, place.Address, place.Postcode, place.IsFound ? place.Latitude : null, place.IsFound ? place.Longitude : null, place.Certainty);
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

    /// <summary>A place that may still be to be asked, as a whole: what was known of it once is not left out again.</summary>
    public static Place ReadPlaceIfAny(this FieldErrors errors, string field, PlaceInput? input, Place before) =>
        !before.IsKnown && input is null or { IsEmpty: true } ? before : errors.ReadPlace(field, input, before.IsKnown ? before : null) ?? before;

    private const int Decimals = 6; // about a tenth of a metre
    private const string OnlyTheAddress =
        "The address changed but the position did not. Enter the new position, or tick “The position is still right”.";

    private const string NoPosition = "Enter the postcode, or latitude and longitude such as 52.4003, -1.2004: driving times are worked out from where the place is.";
    /// <summary>The code of a position and a postcode that cannot both be right.</summary>
    public const string FarFromPostcode = "position_far_from_postcode";

    private const string NoDistrict = "A place can be left open once its postcode, or the first half of it, is one that the school has loaded.";

    /// <summary>The place, or null when something about it was not right.</summary>
    /// <param name="errors">Takes what is wrong.</param>
    /// <param name="field">Name of the field that holds the place, such as "PickUp"; empty where the place is all that was sent.</param>
    /// <param name="input">What was sent.</param>
    /// <param name="before">The place as it stood; null when it is new.</param>
    public static Place? ReadPlace(this FieldErrors errors, string field, PlaceInput? input, Place? before = null)
    {
        if (input is null)
        {
            errors.Add(field, "Say where: a label, and a postcode or a position.");
            return null;
        }

        if (input.PlaceId is not null)
        {
            if (input.Found?.Place is null)
            {
                errors.Add(At(field, "PlaceId"), input.Found?.WhyNot ?? PlaceFound.Gone.WhyNot!);
            }

            return input.Found?.Place;
        }

        var own = new FieldErrors();
        var label = own.ReadLine(At(field, "Label"), input.Label, Place.LongestLabel, "Enter a short name for the place, such as Mill Lane.");
        var address = own.ReadLine(At(field, "Address"), input.Address, Place.LongestAddress);
        var postcode = ReadPostcode(own, At(field, "Postcode"), input);
        var (at, certainty) = ReadPosition(own, field, input, before, postcode);
        var place = new Place
        {
            Label = label,
            Address = address,
            Postcode = postcode,
            Latitude = Math.Round(at.Latitude, Decimals),
            Longitude = Math.Round(at.Longitude, Decimals),
            Certainty = certainty,
        };
        own.When(input.StillRight == false && !own.Any && before is not null && place.IsFound && OnlyTheAddressChanged(before, place), At(field, "Position"), OnlyTheAddress);
        errors.AddAll(own);
        return own.Any ? null : place;
    }

    private static string TooFarApart(string postcode, double metres) => string.Create(
        CultureInfo.InvariantCulture,
        $"The position lies {metres / 1000:0} km from {postcode}. Put right whichever of the two is wrong, or leave the postcode out: the position decides then.");

    /// <summary>A member of the place, whose field has no name where the place is all that was sent.</summary>
    private static string At(string field, string member) => field.Length == 0 ? member : $"{field}.{member}";

    private static bool OnlyTheAddressChanged(Place before, Place after) =>
        (before.Address, before.Postcode) != (after.Address, after.Postcode) && (before.Latitude, before.Longitude) == (after.Latitude, after.Longitude);

    private static string ReadPostcode(FieldErrors errors, string field, PlaceInput input)
    {
        var typed = input.Postcode;
        if (string.IsNullOrWhiteSpace(typed))
        {
            return "";
        }

        if (Postcode.TryParse(typed, out var postcode, out var problem))
        {
            return postcode.ToString();
        }

        if (input.LeftOpen && PostcodeDistrict.TryParse(typed, out var district, out _))
        {
            return district.Text;
        }

        errors.Add(field, problem.Sentence);
        return "";
    }

    private static (Coordinates At, PlaceCertainty Certainty) ReadPosition(FieldErrors errors, string field, PlaceInput input, Place? before, string postcode)
    {
        // Who finds a place that was left open says so by its position, whatever the form still has ticked.
        var stood = before is { IsFound: true } && (input.Position == PlaceInput.Of(before).Position || (input.Latitude == before.Latitude && input.Longitude == before.Longitude));
        var finds = before is { IsFound: false } && input.HasPosition;
        errors.When(input.LeftOpen && input.HasPosition && !stood && !finds, At(field, "ToBeFound"), "A place with a position is found. Take the position out, or say that it is not left open.");
        if (input.LeftOpen && !finds)
        {
            // Left open as before: what stood stays.
            var middle = input.Found?.Middle ?? (before is { IsFound: false } && before.Postcode == postcode ? before.At() : null);
            errors.When(middle is null, At(field, "ToBeFound"), input.Found?.WhyNot is { } why && postcode.StartsWith("BT", StringComparison.Ordinal) ? why : NoDistrict);
            return (middle ?? default, PlaceCertainty.ToBeFound);
        }

        // Who moved says so by the new postcode; the position on the form is that of the old.
        var moved = input.StillRight == false && before is not null && input.Found?.Place is not null && before.Postcode != postcode
            && input.Position == PlaceInput.Of(before).Position;
        if (input.HasPosition && !moved)
        {
            var typed = new FieldErrors();
            var at = ReadTyped(typed, field, input);
            errors.AddAll(typed);
            var same = before is { IsFound: true } && before.At() == at;
            if (!typed.Any && !(same && before!.Postcode == postcode) && input.Found?.Place is { Certainty: PlaceCertainty.Exact } middle && at.DistanceMetres(middle.At()) is > Postcode.ReachMetres and var apart)
            {
                errors.Add(At(field, "Postcode"), TooFarApart(postcode, apart), FarFromPostcode);
            }

            return (at, same ? before!.Certainty : input.Certainty is PlaceCertainty.Roughly ? PlaceCertainty.Roughly : PlaceCertainty.Exact);
        }

        if (input.Found?.Place is { } found)
        {
            return (found.At(), found.Certainty);
        }

        errors.Add(postcode.Length > 0 && input.Found?.WhyNot is not null ? At(field, "Postcode") : At(field, "Position"), input.Found?.WhyNot ?? NoPosition);
        return default;
    }

    private static Coordinates ReadTyped(FieldErrors errors, string field, PlaceInput input)
    {
        var hasNumbers = input.Latitude is not null || input.Longitude is not null;
        if (!string.IsNullOrWhiteSpace(input.Position))
        {
            errors.When(hasNumbers, At(field, "Position"), "Send either the position or latitude and longitude, not both.");
            if (CoordinatesText.TryParse(input.Position, out var latitude, out var longitude, out var problem))
            {
                return new(latitude, longitude);
            }

            errors.Add(At(field, "Position"), problem);
            return default;
        }

        errors.When(input.Latitude is not (>= -90 and <= 90), At(field, "Latitude"), "Latitude is a number from -90 to 90.");
        errors.When(input.Longitude is not (>= -180 and <= 180), At(field, "Longitude"), "Longitude is a number from -180 to 180.");
        return Coordinates.TryCreate(input.Latitude ?? 0, input.Longitude ?? 0, out var at) ? at : default;
    }
}
