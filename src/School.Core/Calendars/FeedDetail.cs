using System.Globalization;
using School.Core.Travel;

namespace School.Core.Calendars;

/// <summary>How much a calendar tells whoever holds its address.</summary>
public enum FeedDetail
{
    /// <summary>Name, notes and exact place.</summary>
    Full,

    /// <summary>Initials and area only.</summary>
    Area,

    /// <summary>Only that the time is taken.</summary>
    Busy,
}

/// <summary>What is known about an event before it is decided how much of it is shown.</summary>
/// <param name="Kind">What it is, for example “Lesson”.</param>
/// <param name="Person">With whom; null when nobody.</param>
/// <param name="Description">Notes.</param>
/// <param name="Address">The exact place in words.</param>
/// <param name="Area">The rough place, for example the first half of the postcode.</param>
/// <param name="Geo">The exact place in degrees north and east.</param>
public sealed record FeedSubject(
    string Kind,
    string? Person,
    string? Description,
    string? Address,
    string? Area,
    Coordinates? Geo);

/// <summary>The parts of an event that are shown.</summary>
/// <param name="Summary">Its title.</param>
/// <param name="Description">Longer text, if shown.</param>
/// <param name="Location">Where, in words, if shown.</param>
/// <param name="Geo">Where, in degrees north and east, if shown.</param>
public sealed record FeedText(string Summary, string? Description, string? Location, Coordinates? Geo)
{
    /// <summary>Keeps of the subject what the level of detail allows.</summary>
    public static FeedText Of(FeedSubject subject, FeedDetail detail) => detail switch
    {
        FeedDetail.Full => new(Title(subject.Kind, subject.Person), subject.Description, subject.Address, subject.Geo),
        FeedDetail.Area => new(Title(subject.Kind, Initials(subject.Person)), null, subject.Area, null),
        FeedDetail.Busy => new("Busy", null, null, null),
    };

    /// <summary>The first letter, as a reader sees letters, of each word of a name: “TO” for “Tamsin Oakley”. Empty without a name.</summary>
    public static string Initials(string? person) =>
        string.Concat((person ?? "")
            .Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries)
            .Select(word => StringInfo.GetNextTextElement(word)))
        .ToUpperInvariant();

    private static string Title(string kind, string? person) => string.IsNullOrWhiteSpace(person) ? kind : $"{kind}: {person}";
}
