using NodaTime;
using School.Core.Travel;

namespace School.Core.Calendars;

/// <summary>A calendar that other programs subscribe to.</summary>
/// <param name="Name">Shown by the subscriber's program.</param>
/// <param name="Zone">The zone in which local times are written; its id must be an IANA id.</param>
/// <param name="RefreshHours">How often a subscriber is asked to come back, 1 or more. Programs may ignore it.</param>
/// <param name="ProductId">Which program wrote the calendar (RFC 5545 section 3.7.3).</param>
public sealed record FeedCalendar(
    string Name,
    DateTimeZone Zone,
    int RefreshHours = 6,
    string ProductId = FeedCalendar.DefaultProductId)
{
    /// <summary>This program's identifier.</summary>
    public const string DefaultProductId = "-//School//Diary//EN";
}

/// <summary>Whether an event takes place (RFC 5545 section 3.8.1.11).</summary>
public enum FeedStatus
{
    /// <summary>It takes place.</summary>
    Confirmed,

    /// <summary>It was called off.</summary>
    Cancelled,
}

/// <summary>One event of a calendar. Instants are written to the whole second, rounded down.</summary>
/// <param name="Uid">Names the event for ever, in every calendar; never used again for another (RFC 5545 section 3.8.4.7).</param>
/// <param name="Start">When it begins.</param>
/// <param name="End">The first instant after it; at least a second after <paramref name="Start"/>.</param>
/// <param name="Summary">Its title.</param>
/// <param name="Status">Whether it takes place.</param>
/// <param name="Sequence">0 at first, higher after each change of time, place or status (RFC 5545 section 3.8.7.4).</param>
/// <param name="Created">When it was entered.</param>
/// <param name="LastModified">
/// When it last changed. It also stands as DTSTAMP (RFC 5545 section 3.8.7.2), so that an unchanged event is written the same
/// at every fetch.
/// </param>
public sealed record FeedEvent(
    string Uid,
    Instant Start,
    Instant End,
    string Summary,
    FeedStatus Status,
    int Sequence,
    Instant Created,
    Instant LastModified)
{
    /// <summary>Longer text, if any.</summary>
    public string? Description { get; init; }

    /// <summary>Where, in words, if told.</summary>
    public string? Location { get; init; }

    /// <summary>Where, in degrees north and east (WGS 84), if told.</summary>
    public Coordinates? Geo { get; init; }

    /// <summary>A page about it, if any.</summary>
    public Uri? Url { get; init; }
}
