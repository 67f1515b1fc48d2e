using System.Buffers;
using NodaTime;

namespace School.Core.Calendars;

/// <summary>
/// Writes a calendar in the iCalendar format (RFC 5545, with NAME and REFRESH-INTERVAL of RFC 7986), for subscription.
/// </summary>
/// <remarks>
/// The same events give the same octets, whatever the time of writing. There is no METHOD: it would ask for an ORGANIZER
/// (RFC 5546). To be sent as <c>text/calendar; charset=utf-8</c>.
/// </remarks>
public static class FeedWriter
{
    /// <summary>Stands before the title of a cancelled event, since some programs show no status.</summary>
    public const string CancelledPrefix = "Cancelled: ";

    // A calendar must have a component (RFC 5545 section 3.6), so one without events still carries its zone, as of this year.
    private const int YearOfEmptyCalendar = 2026;

    private static readonly Comparison<FeedEvent> ByStartAndUid = (one, other) =>
        one.Start != other.Start ? one.Start.CompareTo(other.Start) : string.CompareOrdinal(one.Uid, other.Uid);

    /// <summary>Writes the calendar with its events, by start and then by uid, as UTF-8. Nothing is written when it throws.</summary>
    /// <exception cref="ArgumentException">
    /// An event does not end after it starts, has a negative sequence, or the calendar refreshes more often than hourly.
    /// </exception>
    public static void Write(FeedCalendar calendar, IEnumerable<FeedEvent> events, IBufferWriter<byte> to)
    {
        ArgumentNullException.ThrowIfNull(calendar);
        ArgumentNullException.ThrowIfNull(to);
        ArgumentOutOfRangeException.ThrowIfLessThan(calendar.RefreshHours, 1, nameof(calendar));
        FeedEvent[] sorted = [.. events];
        Array.ForEach(sorted, Check);
        Array.Sort(sorted, ByStartAndUid);

        var lines = new ContentLines(to);
        lines.Line("BEGIN:VCALENDAR"u8);
        lines.TextLine("PRODID:"u8, calendar.ProductId);
        lines.Line("VERSION:2.0"u8);
        lines.TextLine("NAME:"u8, calendar.Name);
        lines.TextLine("X-WR-CALNAME:"u8, calendar.Name);
        AddHours(ref lines, "REFRESH-INTERVAL;VALUE=DURATION:PT"u8, calendar.RefreshHours);
        AddHours(ref lines, "X-PUBLISHED-TTL:PT"u8, calendar.RefreshHours);
        lines.Lines(ZoneOf(calendar.Zone, sorted));
        var clock = new WallClock(calendar.Zone);
        foreach (var item in sorted)
        {
            AddEvent(ref lines, calendar.Zone, clock, item);
        }

        lines.Line("END:VCALENDAR"u8);
        lines.Flush();
    }

    private static void Check(FeedEvent item)
    {
        if (WholeSecond(item.End) <= WholeSecond(item.Start))
        {
            throw new ArgumentException($"Event {item.Uid} does not end after it starts.", nameof(item));
        }

        ArgumentOutOfRangeException.ThrowIfNegative(item.Sequence, nameof(item));
    }

    private static byte[] ZoneOf(DateTimeZone zone, FeedEvent[] events)
    {
        int YearOf(Instant instant) => instant.InZone(zone).Year;
        return events is []
            ? ZoneComponent.Of(zone, YearOfEmptyCalendar, YearOfEmptyCalendar)
            : ZoneComponent.Of(zone, YearOf(events[0].Start), YearOf(events.Max(item => item.End)));
    }

    private static void AddHours(ref ContentLines lines, ReadOnlySpan<byte> name, int hours)
    {
        lines.Put(name);
        lines.PutNumber(hours);
        lines.Line("H"u8);
    }

    private static void AddEvent(ref ContentLines lines, DateTimeZone zone, WallClock clock, FeedEvent item)
    {
        var cancelled = item.Status == FeedStatus.Cancelled;
        lines.Line("BEGIN:VEVENT"u8);
        lines.TextLine("UID:"u8, item.Uid);
        AddUtc(ref lines, "DTSTAMP:"u8, item.LastModified);
        AddTime(ref lines, "DTSTART"u8, WholeSecond(item.Start), zone, clock);
        AddTime(ref lines, "DTEND"u8, WholeSecond(item.End), zone, clock);
        lines.TextLine("SUMMARY:"u8, cancelled ? CancelledPrefix + item.Summary : item.Summary);
        lines.Line(cancelled ? "STATUS:CANCELLED"u8 : "STATUS:CONFIRMED"u8);
        lines.Put("SEQUENCE:"u8);
        lines.PutNumber(item.Sequence);
        lines.End();
        AddUtc(ref lines, "CREATED:"u8, item.Created);
        AddUtc(ref lines, "LAST-MODIFIED:"u8, item.LastModified);
        AddIfAny(ref lines, "DESCRIPTION:"u8, item.Description);
        AddIfAny(ref lines, "LOCATION:"u8, item.Location);
        if (item.Geo is { } geo)
        {
            lines.Put("GEO:"u8);
            lines.PutNumber(geo.Latitude, "F6");
            lines.Put(";"u8);
            lines.PutNumber(geo.Longitude, "F6");
            lines.End();
        }

        if (item.Url is { } url)
        {
            lines.Put("URL:"u8);
            lines.PutValue(url.AbsoluteUri);
            lines.End();
        }

        lines.Line("END:VEVENT"u8);
    }

    private static void AddIfAny(ref ContentLines lines, ReadOnlySpan<byte> name, string? value)
    {
        if (!string.IsNullOrWhiteSpace(value))
        {
            lines.TextLine(name, value);
        }
    }

    private static void AddUtc(ref ContentLines lines, ReadOnlySpan<byte> name, Instant instant)
    {
        lines.Put(name);
        lines.PutUtc(instant);
        lines.End();
    }

    // A local time that occurs twice means its first occurrence (RFC 5545 section 3.3.5), and readers disagree about it,
    // so both are written in UTC.
    private static void AddTime(ref ContentLines lines, ReadOnlySpan<byte> name, Instant instant, DateTimeZone zone, WallClock clock)
    {
        var (local, once) = clock.At(instant);
        lines.Put(name);
        if (once)
        {
            lines.Put(";TZID="u8);
            lines.PutValue(zone.Id);
            lines.Put(":"u8);
            lines.PutTime(local);
        }
        else
        {
            lines.Put(":"u8);
            lines.PutUtc(instant);
        }

        lines.End();
    }

    private static Instant WholeSecond(Instant instant) => Instant.FromUnixTimeSeconds(instant.ToUnixTimeSeconds());
}
