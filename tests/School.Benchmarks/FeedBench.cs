using System.Buffers;
using System.Diagnostics;
using System.Globalization;
using System.Net.Http.Json;
using System.Text;
using System.Text.Json;
using Ical.Net.DataTypes;
using Ical.Net.Serialization;
using NodaTime;
using School.Core.Calendars;
using School.Core.Travel;
using School.Web.Platform.Api;
using Duration = NodaTime.Duration;

namespace School.Benchmarks;

/// <summary>Feeds: the writer beside that of Ical.Net for the same events, and an unchanged feed beside a one-row read of the same service.</summary>
internal static class FeedBench
{
    private const int Events = 500;
    private const int Rounds = 9;
    private const int WarmRounds = 4;
    private const int PerRound = 20;
    private const double LeastTimes = 50;
    private const double LeastOfOneRow = 0.9;

    public static string MeasureWriter()
    {
        var calendar = new FeedCalendar("Marigold Ashby, Larkfield Driving School", DateTimeZoneProviders.Tzdb["Europe/London"]);
        var events = Enumerable.Range(0, Events).Select(Lesson).ToList();
        var library = new Ical.Net.Calendar();
        library.Events.AddRange(events.Select(AsOfLibrary));
        var serializer = new CalendarSerializer();
        using var to = new PooledBytes();
        AssertAlike(events, Written(calendar, events), serializer.SerializeToString(library)!);

        var (own, theirs) = (new List<double>(), new List<double>());
        var (ownBytes, theirBytes) = (0L, 0L);
        for (var round = 0; round < WarmRounds + Rounds; round++)
        {
            if (round == WarmRounds)
            {
                // By now both are compiled as they stay.
                own.Clear();
                theirs.Clear();
            }

            ownBytes = Time(own, PerRound * 10, () =>
            {
                using var lent = new PooledBytes();
                FeedWriter.Write(calendar, events, lent);
            });
            theirBytes = Time(theirs, PerRound, () => serializer.SerializeToString(library));
        }

        var times = Load.Median(theirs) / Load.Median(own);
        return string.Create(
            CultureInfo.InvariantCulture,
            $"feed-writer {Load.Median(own):0.000} ms ({Events} events; ratio {times:0} times as fast as Ical.Net at {Load.Median(theirs):0.0} ms, read back alike; {ownBytes} bytes allocated against {theirBytes}; goal at least {LeastTimes}) {Load.Met(times >= LeastTimes)}");
    }

    public static async Task<IReadOnlyList<string>> MeasureHttpAsync(DemoService school)
    {
        using var office = await school.ApiAsync("office@larkfield.example");
        var instructor = (await office.GetFromJsonAsync<JsonElement>("/api/v1/instructors")).GetProperty("items")[0].GetProperty("id").GetString()!;
        using var made = await office.PostAsJsonAsync("/api/v1/feeds", new { instructorId = instructor, detail = "full" });
        made.EnsureSuccessStatusCode();
        var path = new Uri((await made.Content.ReadFromJsonAsync<JsonElement>()).GetProperty("url").GetString()!).PathAndQuery;
        // A calendar program signs in by the address alone.
        using var program = new HttpClient { BaseAddress = school.Url };
        using var first = await program.GetAsync(path);
        var tag = first.EnsureSuccessStatusCode().Headers.ETag!.Tag;
        var rates = await Load.InTurnAsync(
            [new("one-row-read", office, $"/api/v1/instructors/{instructor}"), new("unchanged", program, path, tag), new("whole", program, path)], Rounds, TimeSpan.FromSeconds(1.5));
        var octets = (await first.Content.ReadAsByteArrayAsync()).Length;
        var ratio = rates[1].Rate / rates[0].Rate;
        return
        [
            string.Create(CultureInfo.InvariantCulture, $"feed-unchanged {rates[1].Rate:0} requests/s (ratio {ratio:0.00} to the one-row read at {rates[0].Rate:0}; goal at least {LeastOfOneRow}) {Load.Met(ratio >= LeastOfOneRow)}"),
            string.Create(CultureInfo.InvariantCulture, $"feed-whole {rates[2].Rate:0} requests/s (ratio {rates[2].Rate / rates[0].Rate:0.00} to the one-row read; {octets} octets)"),
        ];
    }

    private static FeedEvent Lesson(int n)
    {
        var start = Instant.FromUtc(2026, 9, 1, 8, 0) + Duration.FromHours(n * 5);
        var entered = start - Duration.FromDays(10);
        return new(
            new Guid(n, 0, 0, [1, 2, 3, 4, 5, 6, 7, 8]).ToString(), start, start + Duration.FromMinutes(60 + n % 3 * 30), $"Lesson: {(n % 5 == 0 ? "Siân Ó Dálaigh" : "Tamsin Oakley")}",
            n % 9 == 0 ? FeedStatus.Cancelled : FeedStatus.Confirmed, n % 4, entered, entered + Duration.FromHours(n))
        {
            Description = n % 2 == 0 ? "Drop-off: 17 Quince Lane, Larkfield; ring the bell at the blue gate, not the front door" : null,
            Location = $"{n} Elm Road, Larkfield, LK1 {n % 9}AB",
            Geo = new Coordinates(51.5 + n / 10_000.0, -0.1 - n / 10_000.0),
        };
    }

    private static Ical.Net.CalendarComponents.CalendarEvent AsOfLibrary(FeedEvent item) => new()
    {
        Uid = item.Uid,
        Start = Time(item.Start),
        End = Time(item.End),
        Summary = item.Status == FeedStatus.Cancelled ? FeedWriter.CancelledPrefix + item.Summary : item.Summary,
        Status = item.Status == FeedStatus.Cancelled ? "CANCELLED" : "CONFIRMED",
        Sequence = item.Sequence,
        Created = Time(item.Created, utc: true),
        LastModified = Time(item.LastModified, utc: true),
        DtStamp = Time(item.LastModified, utc: true),
        Description = item.Description,
        Location = item.Location,
        GeographicLocation = new GeographicLocation(Math.Round(item.Geo!.Value.Latitude, 6), Math.Round(item.Geo!.Value.Longitude, 6)),
    };

#pragma warning disable RS0030 // Ical.Net speaks DateTime.
    private static CalDateTime Time(Instant instant, bool utc = false) =>
        utc ? new(instant.ToDateTimeUtc()) : new(instant.InZone(DateTimeZoneProviders.Tzdb["Europe/London"]).LocalDateTime.ToDateTimeUnspecified(), "Europe/London");

    private static IEnumerable<string> Read(string text) => Ical.Net.Calendar.Load(text)!.Events
        .Select(item => string.Join('|', item.Uid, item.Start!.AsUtc, item.End!.AsUtc, item.Summary, item.Status, item.Sequence, item.Created!.AsUtc, item.LastModified!.AsUtc,
            item.DtStamp!.AsUtc, item.Description, item.Location, item.GeographicLocation!.Latitude, item.GeographicLocation.Longitude))
        .Order(StringComparer.Ordinal);
#pragma warning restore RS0030

    private static void AssertAlike(List<FeedEvent> events, string own, string theirs)
    {
        var (one, other) = (Read(own).ToList(), Read(theirs).ToList());
        if (one.Count != events.Count || !one.SequenceEqual(other))
        {
            throw new InvalidOperationException($"The two are read back differently: {one.Except(other).FirstOrDefault()} and {other.Except(one).FirstOrDefault()}.");
        }
    }

    private static string Written(FeedCalendar calendar, List<FeedEvent> events)
    {
        var to = new ArrayBufferWriter<byte>();
        FeedWriter.Write(calendar, events, to);
        return Encoding.UTF8.GetString(to.WrittenSpan);
    }

    private static long Time(List<double> times, int turns, Action act)
    {
        act();
        var bytes = GC.GetAllocatedBytesForCurrentThread();
        var started = Stopwatch.GetTimestamp();
        for (var n = 0; n < turns; n++)
        {
            act();
        }

        times.Add(Stopwatch.GetElapsedTime(started).TotalMilliseconds / turns);
        return (GC.GetAllocatedBytesForCurrentThread() - bytes) / turns;
    }
}
