using System.Buffers;
using System.Text;
using CsCheck;
using NodaTime;
using NodaTime.Text;
using School.Core.Calendars;
using School.Core.Travel;

namespace School.Core.Tests.Calendars;

// Whatever people type, Ical.Net reads it back in every property that holds text. Section numbers are those of RFC 5545.
public class FeedTextTests
{
    private static readonly InstantPattern Utc = InstantPattern.CreateWithInvariantCulture("uuuuMMdd'T'HHmmss'Z'");

    private static readonly LocalDateTimePattern Local = LocalDateTimePattern.CreateWithInvariantCulture("uuuuMMdd'T'HHmmss");

    // Pieces that a reader or a writer may stumble over: what is escaped (3.3.11), what ends a line, what may not occur (3.1), halves of a
    // surrogate pair (RFC 3629 section 3), long words of one, two, three and four octets a letter, joined emoji, text from right to left.
    private static readonly Gen<string> Hostile = Gen.OneOf(
        Gen.OneOf(
            ",", ";", ":", "\\", "\\n", "\\,", "\"", "\n", "\r", "\r\n", "\f", "\u0085", "\u2028", "\u2029", "\t", "\0", "\a", "\u001B", "\u007F", "\u009F", "\uFEFF", "\uD83D", "\uDE97",
            " ", "\u00A0", "\u3000", "e\u0301", "👩‍👧‍👦", "🏴󠁧󠁢󠁷󠁬󠁳󠁿", "🚗", "שלום, עולם", "\u202Eمرحبا\u202C", "日本語", "\uFFFD", "\uFFFF", "END:VEVENT", "BEGIN:VALARM"),
        Gen.Select(Gen.OneOf("x", "é", "車", "🚗"), Gen.Int[1, 200], (letter, count) => string.Concat(Enumerable.Repeat(letter, count))),
        Gen.Char.Array[0, 30].Select(letters => new string(letters)))
        .Array[0, 12].Select(string.Concat<string>);

    private static readonly Gen<FeedEvent> Events =
        from feed in Feeds.Calendars
        where feed.Events.Length > 0
        from summary in Hostile
        from description in Hostile
        from location in Hostile
        from north in Gen.Double[-90, 90]
        from east in Gen.Double[-180, 180]
        select feed.Events[0] with
        {
            Summary = $"<{summary}>",
            Description = $"<{description}>",
            Location = $"<{location}>",
            Geo = new Coordinates(north, east),
            Url = new("https://school.larkfield.example/diary/1?at=a,b;c"),
        };

    [Fact]
    public void Whatever_is_typed_is_read_back_by_Ical_Net() => Events.Sample(item =>
    {
        var read = Ical.Net.Calendar.Load(Feeds.Text(new("Larkfield diary", Feeds.London), [item]))!.Events.Single();

        Assert.Equal(item.Uid, read.Uid);
        Assert.Equal((item.Status == FeedStatus.Cancelled ? "Cancelled: " : "") + Told(item.Summary), read.Summary);
        Assert.Equal(Told(item.Description!), read.Description);
        Assert.Equal(Told(item.Location!), read.Location);
        Assert.Equal(item.Geo!.Value.Latitude, read.GeographicLocation!.Latitude, 6);
        Assert.Equal(item.Geo!.Value.Longitude, read.GeographicLocation!.Longitude, 6);
        Assert.Equal(item.Url, read.Url);
        Assert.Equal(item.Sequence, read.Sequence);
        Assert.Equal(item.Status == FeedStatus.Cancelled ? "CANCELLED" : "CONFIRMED", read.Status);
        Assert.Equal(
            new[] { item.Start, item.End, item.Created, item.LastModified, item.LastModified }.Select(time => time.ToUnixTimeSeconds()),
            new[] { read.Start, read.End, read.Created, read.LastModified, read.DtStamp }.Select(time => Seconds(time!)));
    });

    /// <summary>What is kept of a text, worked out otherwise than the writer does: by regular expressions over code points.</summary>
    private static string Told(string text)
    {
        var halves = new StringBuilder();
        for (var at = 0; at < text.Length; at++)
        {
            var pair = char.IsHighSurrogate(text[at]) && at + 1 < text.Length && char.IsLowSurrogate(text[at + 1]);
            halves.Append(pair ? text.Substring(at, 2) : char.IsSurrogate(text[at]) ? "" : text[at].ToString());
            at += pair ? 1 : 0;
        }

        var lines = System.Text.RegularExpressions.Regex.Replace(halves.ToString(), "\r\n|[\r\n\f\u0085\u2028\u2029]", "\n");
        return System.Text.RegularExpressions.Regex.Replace(lines, @"[\x00-\x08\x0B-\x1F\x7F-\x9F\uFEFF]", "");
    }

    // 3.3.5, form 3, except where the clocks show the time twice: as NodaTime maps local times, zone by zone around each change.
    [Fact]
    public void A_time_is_local_where_the_clocks_show_it_once() => Feeds.Calendars.Sample(feed =>
    {
        var lines = Feeds.Text(feed.Calendar, feed.Events).Replace("\r\n ", "", StringComparison.Ordinal).Split("\r\n");
        var expected = feed.Events
            .OrderBy(item => item.Start).ThenBy(item => item.Uid, StringComparer.Ordinal)
            .SelectMany(item => new[] { $"DTSTART{Form(item.Start)}", $"DTEND{Form(item.End)}" });
        Assert.Equal(expected, lines.SkipWhile(line => line != "BEGIN:VEVENT").Where(line => line.StartsWith("DTSTART", StringComparison.Ordinal) || line.StartsWith("DTEND", StringComparison.Ordinal)));

        string Form(Instant time)
        {
            var local = time.InZone(feed.Calendar.Zone).LocalDateTime;
            return feed.Calendar.Zone.MapLocal(local).Count == 1 ? $";TZID={feed.Calendar.Zone.Id}:{Local.Format(local)}" : $":{Utc.Format(time)}";
        }
    });

    // Every day of eight centuries, at some second of it, as NodaTime names it.
    [Fact]
    public void Dates_and_times_are_those_of_the_calendar()
    {
        var random = new Random(20261126);
        var first = Instant.FromUtc(1600, 1, 1, 0, 0);
        var times = Enumerable.Range(0, 800 * 366).Select(day => first + Duration.FromSeconds(day * 86_400L + random.Next(86_400))).ToList();
        var one = new FeedEvent("0", first, first + Duration.FromHours(1), "Lesson", FeedStatus.Confirmed, 0, first, first);
        var written = Feeds.Text(new("Larkfield diary", Feeds.London), times.Select((time, n) => one with { Uid = $"{n:000000}", Created = time }));
        Assert.Equal(
            times.Select(time => $"CREATED:{Utc.Format(time)}"),
            written.Split("\r\n").Where(line => line.StartsWith("CREATED", StringComparison.Ordinal)));
    }

    [Fact]
    public void The_same_octets_are_written_into_any_memory() => Gen.Select(Events, Gen.Int[1, 5000]).Sample((item, most) =>
    {
        var calendar = new FeedCalendar("Larkfield diary", Feeds.London);
        var narrow = new Pieces(most);
        FeedWriter.Write(calendar, [item, item with { Uid = "another" }], narrow);
        Assert.Equal(Feeds.Octets(calendar, [item, item with { Uid = "another" }]), narrow.Written);
    });

#pragma warning disable RS0030 // Ical.Net speaks DateTime.
    private static long Seconds(Ical.Net.DataTypes.CalDateTime time) => Instant.FromDateTimeUtc(time.AsUtc).ToUnixTimeSeconds();
#pragma warning restore RS0030

    /// <summary>Hands out no more than is asked for, or a little, each time elsewhere and not empty, as the memory of a pipe is.</summary>
    private sealed class Pieces(int most) : IBufferWriter<byte>
    {
        private readonly List<byte> _written = [];
        private byte[] _piece = [];

        public byte[] Written => [.. _written];

        public void Advance(int count)
        {
            _written.AddRange(_piece.AsSpan(0, count));
            _piece = [];
        }

        public Memory<byte> GetMemory(int sizeHint = 0)
        {
            _piece = new byte[Math.Max(sizeHint, most)];
            _piece.AsSpan().Fill((byte)'#');
            return _piece;
        }

        public Span<byte> GetSpan(int sizeHint = 0) => GetMemory(sizeHint).Span;
    }
}
