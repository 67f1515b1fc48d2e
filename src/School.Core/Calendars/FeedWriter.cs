using System.Buffers;
using System.Text;
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

    // More or less, to ask for memory once.
    private const int OctetsOfZone = 1024;
    private const int OctetsOfEvent = 512;

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
        Sort(sorted);

        var lines = new ContentLines(to, OctetsOfZone + sorted.Length * OctetsOfEvent);
        lines.Whole("BEGIN:VCALENDAR\r\n"u8);
        lines.TextLine("PRODID:"u8, calendar.ProductId);
        lines.Whole("VERSION:2.0\r\n"u8);
        lines.TextLine("NAME:"u8, calendar.Name);
        lines.TextLine("X-WR-CALNAME:"u8, calendar.Name);
        AddHours(ref lines, "REFRESH-INTERVAL;VALUE=DURATION:PT"u8, calendar.RefreshHours);
        AddHours(ref lines, "X-PUBLISHED-TTL:PT"u8, calendar.RefreshHours);
        lines.Whole(ZoneOf(calendar.Zone, sorted));
        var times = new LocalTimes(Encoding.UTF8.GetBytes($";TZID={calendar.Zone.Id}:"), new(calendar.Zone));
        foreach (var item in sorted)
        {
            AddEvent(ref lines, times, item);
        }

        lines.Whole("END:VCALENDAR\r\n"u8);
        lines.Flush();
    }

    private static void Check(FeedEvent item)
    {
        if (item.End.ToUnixTimeSeconds() <= item.Start.ToUnixTimeSeconds())
        {
            throw new ArgumentException($"Event {item.Uid} does not end after it starts.", nameof(item));
        }

        ArgumentOutOfRangeException.ThrowIfNegative(item.Sequence, nameof(item));
    }

    // They mostly come in order.
    private static void Sort(FeedEvent[] events)
    {
        for (var n = 1; n < events.Length; n++)
        {
            if (ByStartAndUid(events[n - 1], events[n]) > 0)
            {
                Array.Sort(events, ByStartAndUid);
                return;
            }
        }
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
        lines.Whole("H\r\n"u8);
    }

    private static void AddEvent(ref ContentLines lines, LocalTimes times, FeedEvent item)
    {
        var cancelled = item.Status == FeedStatus.Cancelled;
        lines.Whole("BEGIN:VEVENT\r\n"u8);
        lines.TextLine("UID:"u8, item.Uid);
        AddUtc(ref lines, "DTSTAMP:"u8, item.LastModified);
        AddTime(ref lines, "DTSTART"u8, item.Start, times);
        AddTime(ref lines, "DTEND"u8, item.End, times);
        lines.TextLine("SUMMARY:"u8, cancelled ? CancelledPrefix + item.Summary : item.Summary);
        lines.Whole(cancelled ? "STATUS:CANCELLED\r\n"u8 : "STATUS:CONFIRMED\r\n"u8);
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
            lines.PutDegrees(geo.Latitude);
            lines.Put(";"u8);
            lines.PutDegrees(geo.Longitude);
            lines.End();
        }

        if (item.Url is { } url)
        {
            lines.Put("URL:"u8);
            lines.PutValue(url.AbsoluteUri);
            lines.End();
        }

        lines.Whole("END:VEVENT\r\n"u8);
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
        lines.EndWithTime(instant.ToUnixTimeSeconds(), utc: true);
    }

    // A local time that occurs twice means its first occurrence (RFC 5545 section 3.3.5), and readers disagree about it,
    // so both are written in UTC.
    private static void AddTime(ref ContentLines lines, ReadOnlySpan<byte> name, Instant instant, LocalTimes times)
    {
        var second = instant.ToUnixTimeSeconds();
        var (offset, once) = times.Clock.At(second);
        lines.Put(name);
        lines.Put(once ? times.Zone : ":"u8);
        lines.EndWithTime(once ? second + offset : second, utc: !once);
    }

    /// <summary>The clock of a zone, and what stands between the name and the value of a time by it. Ids of the time zone database are ASCII.</summary>
    private sealed record LocalTimes(byte[] Zone, WallClock Clock);
}
