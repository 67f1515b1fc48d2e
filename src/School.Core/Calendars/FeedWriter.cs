using System.Globalization;
using NodaTime;
using NodaTime.Text;

namespace School.Core.Calendars;

/// <summary>
/// Writes a calendar in the iCalendar format (RFC 5545, with NAME and REFRESH-INTERVAL of RFC 7986), for subscription.
/// </summary>
/// <remarks>
/// The same events give the same text, whatever the time of writing. There is no METHOD: it would ask for an ORGANIZER
/// (RFC 5546). To be sent as UTF-8, <c>text/calendar; charset=utf-8</c>.
/// </remarks>
public static class FeedWriter
{
    /// <summary>Stands before the title of a cancelled event, since some programs show no status.</summary>
    public const string CancelledPrefix = "Cancelled: ";

    // A calendar must have a component (RFC 5545 section 3.6), so one without events still carries its zone, as of this year.
    private const int YearOfEmptyCalendar = 2026;

    private static readonly InstantPattern Utc = InstantPattern.CreateWithInvariantCulture("uuuuMMdd'T'HHmmss'Z'");

    private static readonly LocalDateTimePattern Local = LocalDateTimePattern.CreateWithInvariantCulture("uuuuMMdd'T'HHmmss");

    /// <summary>The calendar with its events, by start and then by uid.</summary>
    /// <exception cref="ArgumentException">
    /// An event does not end after it starts, has a negative sequence, or the calendar refreshes more often than hourly.
    /// </exception>
    public static string Write(FeedCalendar calendar, IEnumerable<FeedEvent> events)
    {
        ArgumentNullException.ThrowIfNull(calendar);
        ArgumentOutOfRangeException.ThrowIfLessThan(calendar.RefreshHours, 1, nameof(calendar));
        var sorted = events.OrderBy(item => item.Start).ThenBy(item => item.Uid, StringComparer.Ordinal).ToList();
        var refresh = string.Create(CultureInfo.InvariantCulture, $"PT{calendar.RefreshHours}H");

        var lines = new ContentLines();
        lines.Add("BEGIN", "VCALENDAR");
        lines.AddText("PRODID", calendar.ProductId);
        lines.Add("VERSION", "2.0");
        lines.AddText("NAME", calendar.Name);
        lines.AddText("X-WR-CALNAME", calendar.Name);
        lines.Add("REFRESH-INTERVAL;VALUE=DURATION", refresh);
        lines.Add("X-PUBLISHED-TTL", refresh);
        AddZone(lines, calendar.Zone, sorted);
        foreach (var item in sorted)
        {
            AddEvent(lines, calendar.Zone, item);
        }

        lines.Add("END", "VCALENDAR");
        return lines.ToString();
    }

    private static void AddZone(ContentLines lines, DateTimeZone zone, List<FeedEvent> events)
    {
        int YearOf(Instant instant) => instant.InZone(zone).Year;
        var (first, last) = events.Count == 0
            ? (YearOfEmptyCalendar, YearOfEmptyCalendar)
            : (YearOf(events[0].Start), YearOf(events.Max(item => item.End)));
        ZoneComponent.Add(lines, zone, first, last);
    }

    private static void AddEvent(ContentLines lines, DateTimeZone zone, FeedEvent item)
    {
        var (start, end) = (WholeSecond(item.Start), WholeSecond(item.End));
        if (end <= start)
        {
            throw new ArgumentException($"Event {item.Uid} does not end after it starts.", nameof(item));
        }

        ArgumentOutOfRangeException.ThrowIfNegative(item.Sequence, nameof(item));
        var cancelled = item.Status == FeedStatus.Cancelled;

        lines.Add("BEGIN", "VEVENT");
        lines.AddText("UID", item.Uid);
        lines.Add("DTSTAMP", Utc.Format(item.LastModified));
        AddTime(lines, "DTSTART", start, zone);
        AddTime(lines, "DTEND", end, zone);
        lines.AddText("SUMMARY", cancelled ? CancelledPrefix + item.Summary : item.Summary);
        lines.Add("STATUS", cancelled ? "CANCELLED" : "CONFIRMED");
        lines.Add("SEQUENCE", item.Sequence.ToString(CultureInfo.InvariantCulture));
        lines.Add("CREATED", Utc.Format(item.Created));
        lines.Add("LAST-MODIFIED", Utc.Format(item.LastModified));
        AddIfAny(lines, "DESCRIPTION", item.Description);
        AddIfAny(lines, "LOCATION", item.Location);
        if (item.Geo is { } geo)
        {
            lines.Add("GEO", string.Create(CultureInfo.InvariantCulture, $"{geo.Latitude:F6};{geo.Longitude:F6}"));
        }

        if (item.Url is { } url)
        {
            lines.Add("URL", url.AbsoluteUri);
        }

        lines.Add("END", "VEVENT");
    }

    private static void AddIfAny(ContentLines lines, string name, string? value)
    {
        if (!string.IsNullOrWhiteSpace(value))
        {
            lines.AddText(name, value);
        }
    }

    // A local time that occurs twice means its first occurrence (RFC 5545 section 3.3.5), and readers disagree about it,
    // so both are written in UTC.
    private static void AddTime(ContentLines lines, string name, Instant instant, DateTimeZone zone)
    {
        var local = instant.InZone(zone).LocalDateTime;
        if (zone.MapLocal(local).Count == 1)
        {
            lines.Add($"{name};TZID={zone.Id}", Local.Format(local));
        }
        else
        {
            lines.Add(name, Utc.Format(instant));
        }
    }

    private static Instant WholeSecond(Instant instant) => Instant.FromUnixTimeSeconds(instant.ToUnixTimeSeconds());
}
