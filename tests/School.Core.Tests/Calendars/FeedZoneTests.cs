using NodaTime;
using School.Core.Calendars;

namespace School.Core.Tests.Calendars;

// RFC 5545 section 3.6.5. Rules of the zones: IANA time zone database, as NodaTime carries it.
public class FeedZoneTests
{
    [Theory]
    [InlineData("Europe/London", "FREQ=YEARLY;BYMONTH=3;BYDAY=-1SU", "FREQ=YEARLY;BYMONTH=10;BYDAY=-1SU")]
    [InlineData("Europe/Dublin", "FREQ=YEARLY;BYMONTH=3;BYDAY=-1SU", "FREQ=YEARLY;BYMONTH=10;BYDAY=-1SU")]
    [InlineData("America/New_York", "FREQ=YEARLY;BYMONTH=3;BYDAY=2SU", "FREQ=YEARLY;BYMONTH=11;BYDAY=1SU")]
    [InlineData("Pacific/Auckland", "FREQ=YEARLY;BYMONTH=9;BYDAY=-1SU", "FREQ=YEARLY;BYMONTH=4;BYDAY=1SU")]
    public void A_zone_with_yearly_rules_has_one_daylight_and_one_standard_part(string id, string daylight, string standard)
    {
        var lines = Zone(id);
        Assert.Equal(1, lines.Count(line => line == "BEGIN:DAYLIGHT"));
        Assert.Equal(1, lines.Count(line => line == "BEGIN:STANDARD"));
        Assert.Equal([$"RRULE:{daylight}", $"RRULE:{standard}"], lines.Where(line => line.StartsWith("RRULE", StringComparison.Ordinal)));
    }

    [Theory]
    [InlineData("Asia/Kolkata", "+0530")]
    [InlineData("Etc/GMT+5", "-0500")]
    public void A_zone_that_never_changes_has_one_standard_part(string id, string offset)
    {
        var lines = Zone(id);
        Assert.Equal(1, lines.Count(line => line == "BEGIN:STANDARD"));
        Assert.DoesNotContain("BEGIN:DAYLIGHT", lines);
        Assert.Contains($"TZOFFSETFROM:{offset}", lines);
        Assert.Contains($"TZOFFSETTO:{offset}", lines);
    }

    // Israel changes on the Friday before the last Sunday of March, Morocco with Ramadan: no weekday of a month says
    // that. Two changes a year from 2022 to 2024, after the offset with which 2022 begins.
    [Theory]
    [InlineData("Asia/Jerusalem")]
    [InlineData("Africa/Casablanca")]
    public void Any_other_zone_lists_every_change_around_the_years_of_its_events(string id)
    {
        var start = Instant.FromUtc(2023, 6, 1, 9, 0);
        var item = new FeedEvent("a", start, start + Duration.FromHours(1), "Lesson", FeedStatus.Confirmed, 0, start, start);
        var lines = Zone(id, item);
        Assert.DoesNotContain(lines, line => line.StartsWith("RRULE", StringComparison.Ordinal));
        Assert.Equal(1 + 2 * 3, lines.Count(line => line.StartsWith("DTSTART:", StringComparison.Ordinal)));
    }

    private static string[] Zone(string id, params FeedEvent[] events) =>
        Feeds.Text(new("Larkfield", DateTimeZoneProviders.Tzdb[id]), events).Split("\r\n");
}
