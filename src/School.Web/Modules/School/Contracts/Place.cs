using School.Core.Travel;

namespace School.Web.Modules.School.Contracts;

/// <summary>How well it is known where a place lies.</summary>
internal enum PlaceCertainty
{
    /// <summary>Pointed at, or the middle of a postcode.</summary>
    Exact,

    /// <summary>Within a kilometre or so, such as the middle of a postcode sector.</summary>
    Roughly,

    /// <summary>Not yet: what stands as its position is the middle of its postcode district, and no drive is told from it.</summary>
    ToBeFound,
}

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

    public PlaceCertainty Certainty { get; init; }

    /// <summary>Its address, or what stands in for one.</summary>
    public string Written => (Address.Length > 0 ? Address : Postcode.Length > 0 ? $"{Label}, {Postcode}" : Label) + (IsFound ? "" : " (place to be found)");

    /// <summary>Whether a drive to it or from it may be told.</summary>
    public bool IsFound => Certainty != PlaceCertainty.ToBeFound;

    /// <summary>Whether anything at all is known of it.</summary>
    public bool IsKnown => Label.Length > 0;

    /// <summary>A place that is still to be asked; no lesson begins there.</summary>
    public static Place Unknown { get; } = new() { Label = "", Address = "", Postcode = "", Latitude = 0, Longitude = 0, Certainty = PlaceCertainty.ToBeFound };

    /// <summary>Its short name alone.</summary>
    public Place ByName() => Unknown with { Label = Label };

    public Coordinates At() => new(Latitude, Longitude);

    /// <summary>About where it is; null where nothing is known of it.</summary>
    public Coordinates? Near() => IsKnown ? At() : null;
}
