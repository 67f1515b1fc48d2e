using System.Text;
using CsCheck;
using NodaTime;
using School.Core.Calendars;
using School.Core.Travel;

namespace School.Core.Tests.Calendars;

// Section numbers are those of RFC 5545 unless another is named.
public class FeedWriterTests
{
    private static readonly FeedCalendar Diary = new("Larkfield diary", Feeds.London);

    private static readonly Instant Entered = Instant.FromUtc(2026, 11, 1, 9, 0);

    private static readonly FeedEvent Lesson = new(
        "0193a5c8-lesson@larkfield.example",
        Instant.FromUtc(2026, 7, 1, 9, 0),
        Instant.FromUtc(2026, 7, 1, 10, 0),
        "Lesson: Robin Ashdown",
        FeedStatus.Confirmed,
        2,
        Entered,
        Entered + Duration.FromHours(1));

    // 3.4, 3.6.1, 3.6.5, 3.8.7.2; NAME and REFRESH-INTERVAL: RFC 7986 sections 5.1 and 5.7. Offsets and days of the clock
    // changes: IANA time zone database, EU rules.
    [Fact]
    public void A_lesson_is_written_in_full()
    {
        var item = Lesson with
        {
            Description = "Roundabouts, then parking; bring glasses",
            Location = "4 Elm Road, Larkfield",
            Geo = new Coordinates(51.5014, -0.1419),
            Url = new("https://school.larkfield.example/diary/1"),
        };

        string[] expected =
        [
            "BEGIN:VCALENDAR", "PRODID:-//School//Diary//EN", "VERSION:2.0", "NAME:Larkfield diary", "X-WR-CALNAME:Larkfield diary",
            "REFRESH-INTERVAL;VALUE=DURATION:PT6H", "X-PUBLISHED-TTL:PT6H",
            "BEGIN:VTIMEZONE", "TZID:Europe/London",
            "BEGIN:DAYLIGHT", "DTSTART:20250330T010000", "RRULE:FREQ=YEARLY;BYMONTH=3;BYDAY=-1SU",
            "TZOFFSETFROM:+0000", "TZOFFSETTO:+0100", "TZNAME:BST", "END:DAYLIGHT",
            "BEGIN:STANDARD", "DTSTART:20251026T020000", "RRULE:FREQ=YEARLY;BYMONTH=10;BYDAY=-1SU",
            "TZOFFSETFROM:+0100", "TZOFFSETTO:+0000", "TZNAME:GMT", "END:STANDARD",
            "END:VTIMEZONE",
            "BEGIN:VEVENT", "UID:0193a5c8-lesson@larkfield.example", "DTSTAMP:20261101T100000Z",
            "DTSTART;TZID=Europe/London:20260701T100000", "DTEND;TZID=Europe/London:20260701T110000",
            "SUMMARY:Lesson: Robin Ashdown", "STATUS:CONFIRMED", "SEQUENCE:2",
            "CREATED:20261101T090000Z", "LAST-MODIFIED:20261101T100000Z",
            @"DESCRIPTION:Roundabouts\, then parking\; bring glasses", @"LOCATION:4 Elm Road\, Larkfield",
            "GEO:51.501400;-0.141900", "URL:https://school.larkfield.example/diary/1",
            "END:VEVENT", "END:VCALENDAR", "",
        ];
        Assert.Equal(expected, Feeds.Text(Diary, [item]).Split("\r\n"));
    }

    // 3.6: a calendar has at least one component.
    [Fact]
    public void A_calendar_without_events_still_carries_its_zone()
    {
        var lines = Feeds.Text(Diary, []).Split("\r\n");
        Assert.Contains("BEGIN:VTIMEZONE", lines);
        Assert.DoesNotContain("BEGIN:VEVENT", lines);
    }

    // 3.1: 40 letters of two octets are 92 octets with the name, though only 52 characters.
    [Fact]
    public void A_line_is_folded_by_octets_and_not_by_characters()
    {
        var text = new string('é', 40);
        var lines = Physical(Lesson with { Description = text });
        var at = lines.FindIndex(line => line.StartsWith("DESCRIPTION:", StringComparison.Ordinal));
        Assert.Equal(74, Encoding.UTF8.GetByteCount(lines[at]));
        Assert.Equal($"DESCRIPTION:{text}", lines[at] + lines[at + 1][1..]);
    }

    // 3.1: no line over 75 octets; no fold inside a code point; removing each fold gives back the line.
    [Fact]
    public void Whatever_the_text_every_line_is_short_whole_and_unfolds_to_what_was_written()
    {
        var strict = new UTF8Encoding(false, throwOnInvalidBytes: true);
        var text = Gen.Int[0x20, 0x10FFFF].Where(IsPlain).Select(char.ConvertFromUtf32).Array[0, 300].Select(string.Concat<string>);
        text.Sample(value =>
        {
            var feed = Feeds.Octets(Diary, [Lesson with { Summary = $"<{value}>" }]);
            var lines = Split(feed).Select(line => (line.Length, Text: strict.GetString(line))).ToList(); // throws on half a code point
            Assert.All(lines, line => Assert.True(line.Length <= 75, line.Text));
            Assert.All(lines.Zip(lines.Skip(1)).Where(pair => pair.Second.Text.StartsWith(' ')), pair => Assert.True(pair.First.Length > 71, pair.First.Text));

            var unfolded = strict.GetString(feed).Replace("\r\n ", "", StringComparison.Ordinal);
            var summary = unfolded.Split("\r\n").Single(line => line.StartsWith("SUMMARY:", StringComparison.Ordinal))["SUMMARY:".Length..];
            Assert.Equal($"<{value}>", Unescape(summary));
        });

        static bool IsPlain(int code) =>
            code is not (>= 0xD800 and < 0xE000) and not 0xFEFF and not 0x2028 and not 0x2029 && !Rune.IsControl(new Rune(code));
    }

    // 3.3.11: backslash, semicolon, comma and newline are escaped, a colon is not.
    [Theory]
    [InlineData(@"a\b;c,d:e", @"a\\b\;c\,d:e")]
    [InlineData("one\r\ntwo\nthree\rfour\u2028five\u0085six", @"one\ntwo\nthree\nfour\nfive\nsix")]
    [InlineData("\\\n", @"\\")]
    [InlineData("\"quoted\" 'single'", "\"quoted\" 'single'")]
    [InlineData("  spaces outside go  ", "spaces outside go")]
    public void Text_is_escaped(string text, string expected) => Assert.Equal(expected, SummaryOf(text));

    // 3.1, CONTROL: %x00-08 / %x0A-1F / %x7F may not occur. Half a surrogate pair has no UTF-8 form (RFC 3629 section 3);
    // here it is written <, > because an attribute cannot hold it.
    [Theory]
    [InlineData("a\u0000b\u0007c\u001Bd\u007Fe\u009Ff\uFEFFg", "abcdefg")]
    [InlineData("whole \uD83D\uDE97", "whole \uD83D\uDE97")]
    [InlineData("lone < and > halves", "lone  and  halves")]
    [InlineData("end<", "end")]
    [InlineData("tab\tstays", "tab\tstays")]
    public void Characters_that_may_not_occur_are_left_out(string text, string expected) =>
        Assert.Equal(expected, SummaryOf(text.Replace('<', '\uD83D').Replace('>', '\uDE97')));

    [Theory]
    [InlineData("x\r\nATTENDEE:mailto:x@larkfield.example")]
    [InlineData("x\nEND:VEVENT")]
    [InlineData("x\u2028BEGIN:VALARM")]
    public void A_text_cannot_start_a_line_of_its_own(string text)
    {
        var lines = Feeds.Text(new(text, Feeds.London), [Lesson with { Uid = text, Summary = text, Description = text, Location = text }]);
        Assert.Equal(Physical(Lesson).Count + 2, lines.Split("\r\n").Length); // a description and a location more
    }

    // 3.8.1.11
    [Fact]
    public void A_cancelled_lesson_says_so_in_status_and_title()
    {
        var lines = Physical(Lesson with { Status = FeedStatus.Cancelled, Sequence = 3 });
        Assert.Contains("STATUS:CANCELLED", lines);
        Assert.Contains("SUMMARY:Cancelled: Lesson: Robin Ashdown", lines);
        Assert.Contains("SEQUENCE:3", lines);
    }

    // 3.3.5: a local time that occurs twice means the first. Clocks go back on 25 October 2026 at 01:00 UTC.
    [Theory]
    [InlineData("2026-10-24T23:30", "DTSTART;TZID=Europe/London:20261025T003000", "DTEND:20261025T003000Z")]
    [InlineData("2026-10-25T00:30", "DTSTART:20261025T003000Z", "DTEND:20261025T013000Z")]
    [InlineData("2026-10-25T01:30", "DTSTART:20261025T013000Z", "DTEND;TZID=Europe/London:20261025T023000")]
    [InlineData("2026-03-29T00:30", "DTSTART;TZID=Europe/London:20260329T003000", "DTEND;TZID=Europe/London:20260329T023000")]
    public void In_the_repeated_hour_times_are_written_in_UTC(string start, string expectedStart, string expectedEnd)
    {
        var begin = NodaTime.Text.LocalDateTimePattern.CreateWithInvariantCulture("uuuu-MM-dd'T'HH:mm").Parse(start).Value.InUtc().ToInstant();
        var lines = Physical(Lesson with { Start = begin, End = begin + Duration.FromHours(1) });
        Assert.Contains(expectedStart, lines);
        Assert.Contains(expectedEnd, lines);
    }

    [Fact]
    public void Events_stand_by_start_and_then_uid_whatever_their_order()
    {
        var later = Lesson with { Uid = "a", Start = Lesson.Start + Duration.FromMinutes(1) };
        var (b, c) = (Lesson with { Uid = "b" }, Lesson with { Uid = "c" });
        var text = Feeds.Text(Diary, [c, later, b]);
        Assert.Equal(["UID:b", "UID:c", "UID:a"], text.Split("\r\n").Where(line => line.StartsWith("UID", StringComparison.Ordinal)));
        Assert.Equal(text, Feeds.Text(Diary, [later, b, c]));
    }

    // 3.8.2.2: the end is later than the start.
    [Fact]
    public void An_event_that_does_not_end_after_it_starts_is_a_mistake_of_the_caller()
    {
        var to = new System.Buffers.ArrayBufferWriter<byte>();
        Assert.Throws<ArgumentException>(() => FeedWriter.Write(Diary, [Lesson, Lesson with { End = Lesson.Start }], to));
        Assert.Equal(0, to.WrittenCount);
        Assert.Throws<ArgumentOutOfRangeException>(() => Feeds.Text(Diary, [Lesson with { Sequence = -1 }]));
        Assert.Throws<ArgumentOutOfRangeException>(() => Feeds.Text(Diary with { RefreshHours = 0 }, []));
    }

    private static List<string> Physical(FeedEvent item) => [.. Feeds.Text(Diary, [item]).Split("\r\n")];

    private static string SummaryOf(string text) =>
        Physical(Lesson with { Summary = text }).Single(line => line.StartsWith("SUMMARY:", StringComparison.Ordinal))["SUMMARY:".Length..];

    private static string Unescape(string text)
    {
        var plain = new StringBuilder();
        for (var at = 0; at < text.Length; at++)
        {
            plain.Append(text[at] != '\\' ? text[at] : text[++at] == 'n' ? '\n' : text[at]);
        }

        return plain.ToString();
    }

    private static IEnumerable<byte[]> Split(byte[] feed)
    {
        for (var at = 0; at < feed.Length;)
        {
            var end = at + feed.AsSpan(at).IndexOf("\r\n"u8);
            yield return feed[at..end];
            at = end + 2;
        }
    }
}
