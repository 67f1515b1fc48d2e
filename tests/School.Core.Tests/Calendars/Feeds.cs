using System.Buffers;
using System.Text;
using CsCheck;
using NodaTime;
using School.Core.Calendars;

namespace School.Core.Tests.Calendars;

/// <summary>Generated calendars, hard on purpose: every zone, clock changes, long and awkward titles.</summary>
internal static class Feeds
{
    public static readonly DateTimeZone London = DateTimeZoneProviders.Tzdb["Europe/London"];

    /// <summary>What is written, as octets.</summary>
    public static byte[] Octets(FeedCalendar calendar, IEnumerable<FeedEvent> events)
    {
        var written = new ArrayBufferWriter<byte>();
        FeedWriter.Write(calendar, events, written);
        return written.WrittenSpan.ToArray();
    }

    /// <summary>What is written, as text; octets that are not UTF-8 are a failure.</summary>
    public static string Text(FeedCalendar calendar, IEnumerable<FeedEvent> events) => Strict.GetString(Octets(calendar, events));

    private static readonly UTF8Encoding Strict = new(false, throwOnInvalidBytes: true);

    private static readonly Instant Earliest = Instant.FromUtc(2024, 1, 1, 0, 0);

    private static readonly string[] Pieces =
    [
        "Lesson", "Robin Ashdown", " ", ",", ";", ":", "\"", "'", "=", "^n", "<b>", "\n", "\t", "é", "ß", "日本語", "שלום", "\u200F", "👩‍👧", "🚗",
        "🏴󠁧󠁢󠁷󠁬󠁳󠁿", "e\u0301", "\u00A0", "BEGIN:VEVENT", "Elm Road 4",
    ];

    /// <summary>A title without backslash and per cent sign; see the test that reads those.</summary>
    public static readonly Gen<string> Titles =
        Gen.OneOf(Pieces).Array[0, 50].Select(pieces => "Lesson" + string.Concat(pieces).TrimEnd() + ".");

    private static readonly Gen<DateTimeZone> Zones = Gen.Frequency(
        (1, Gen.Const(London)),
        (1, Gen.OneOf([.. DateTimeZoneProviders.Tzdb.Ids]).Select(id => DateTimeZoneProviders.Tzdb[id])));

    public static readonly Gen<(FeedCalendar Calendar, FeedEvent[] Events)> Calendars =
        from zone in Zones
        from events in Event(zone).Array[0, 8]
        select (new FeedCalendar("Larkfield diary", zone), events.Select((item, n) => item with { Uid = $"{n}-{item.Uid}" }).ToArray());

    private static Gen<FeedEvent> Event(DateTimeZone zone) =>
        from start in Gen.Frequency((3, AnyTime), (1, NearClockChange(zone)))
        from length in Gen.Frequency((9, Gen.Int[15, 180]), (1, Gen.Int[1, 4000]))
        from title in Titles
        from status in Gen.OneOf(FeedStatus.Confirmed, FeedStatus.Cancelled)
        from sequence in Gen.Int[0, 9]
        from id in Gen.Guid
        select new FeedEvent(
            $"{id}@larkfield.example", start, start + Duration.FromMinutes(length), title, status, sequence, Earliest, start);

    private static Gen<Instant> AnyTime => Gen.Int[0, 7 * 365 * 24 * 60].Select(minutes => Earliest + Duration.FromMinutes(minutes));

    private static Gen<Instant> NearClockChange(DateTimeZone zone) =>
        from time in AnyTime
        from minutes in Gen.Int[-24, 24]
        let interval = zone.GetZoneInterval(time)
        select (interval.HasEnd ? interval.End : time) + Duration.FromMinutes(5 * minutes);
}
