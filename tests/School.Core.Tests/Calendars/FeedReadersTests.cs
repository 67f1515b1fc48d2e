using System.ComponentModel;
using System.Diagnostics;
using System.Text.Json;
using CsCheck;
using NodaTime;
using School.Core.Calendars;

namespace School.Core.Tests.Calendars;

// What three independent readers of RFC 5545 understand of the same calendars: Ical.Net, Debian's python3-icalendar and npm's ical.js.
// The last two place local times by the VTIMEZONE in the calendar itself.
public sealed class FeedReadersTests : IDisposable
{
    private const int Calendars = 1000;

    private static readonly JsonSerializerOptions Json = new(JsonSerializerDefaults.Web);

    private readonly DirectoryInfo folder = Directory.CreateTempSubdirectory("school-feeds-");

    public sealed record Entry(string Uid, long Start, long End, string Status, string Summary);

    [Fact]
    public void A_thousand_calendars_are_read_alike_by_three_readers()
    {
        var random = new PCG(1, 20261125);
        var expected = new SortedDictionary<string, Entry[]>(StringComparer.Ordinal);
        for (var n = 0; n < Calendars; n++)
        {
            var (calendar, events) = Feeds.Calendars.Generate(random, null, out _);
            var name = $"{n:0000}.ics";
            File.WriteAllText(Path.Combine(folder.FullName, name), Feeds.Text(calendar, events));
            expected[name] = InOrder(events.Select(Meant));
        }

        AssertAlike("Ical.Net", expected, expected.Keys.ToDictionary(name => name, name => ByIcalNet(File.ReadAllText(Path.Combine(folder.FullName, name)))));
        AssertAlike("python3-icalendar", expected, ByProcess("/usr/bin/python3", "read.py", "apt-get install python3-icalendar"));
        AssertAlike("ical.js", expected, ByProcess("node", "read.js", "npm ci in tests/School.Core.Tests/Calendars/readers"));
    }

    // python3-icalendar 4 undoes escapes twice and takes %2C for a comma, so these titles are left to the other reader at hand.
    [Fact]
    public void Backslashes_and_per_cent_signs_are_read_back_too()
    {
        var titles = Gen.OneOf("\\", "\\n", "\\N", "\\,", "%2C", "%5C", ";", "\n", "x").Array[1, 40].Select(parts => $"<{string.Concat(parts)}>");
        Gen.Select(Feeds.Calendars, titles).Sample((feed, title) =>
        {
            var events = feed.Events.Select(item => item with { Summary = title }).ToArray();
            Assert.Equal(InOrder(events.Select(Meant)), InOrder(ByIcalNet(Feeds.Text(feed.Calendar, events))));
        });
    }

    public void Dispose() => folder.Delete(recursive: true);

    private static Entry Meant(FeedEvent item) => new(
        item.Uid,
        item.Start.ToUnixTimeSeconds(),
        item.End.ToUnixTimeSeconds(),
        item.Status == FeedStatus.Cancelled ? "CANCELLED" : "CONFIRMED",
        (item.Status == FeedStatus.Cancelled ? "Cancelled: " : "") + item.Summary);

    private static Entry[] ByIcalNet(string text) =>
        [.. Ical.Net.Calendar.Load(text)!.Events.Select(item => new Entry(
            item.Uid!, Seconds(item.Start!), Seconds(item.End!), item.Status!, item.Summary!))];

#pragma warning disable RS0030 // Ical.Net speaks DateTime.
    private static long Seconds(Ical.Net.DataTypes.CalDateTime time) => Instant.FromDateTimeUtc(time.AsUtc).ToUnixTimeSeconds();
#pragma warning restore RS0030

    private Dictionary<string, Entry[]> ByProcess(string program, string script, string setUp)
    {
        var readers = Path.Combine(Root(), "tests", "School.Core.Tests", "Calendars", "readers");
        var start = new ProcessStartInfo(program, [Path.Combine(readers, script), folder.FullName])
        {
            RedirectStandardOutput = true,
            RedirectStandardError = true,
        };
        var advice = $"The reader {script} failed. If it is not set up, deploy/test does that ({setUp}).";
        try
        {
            using var process = Process.Start(start)!;
            var errors = process.StandardError.ReadToEndAsync();
            var output = process.StandardOutput.ReadToEnd();
            process.WaitForExit();
            Assert.True(process.ExitCode == 0, $"{advice} It said: {errors.GetAwaiter().GetResult()}");
            return JsonSerializer.Deserialize<Dictionary<string, Entry[]>>(output, Json)!;
        }
        catch (Win32Exception missing)
        {
            Assert.Fail($"{advice} {missing.Message}");
            throw;
        }
    }

    private static void AssertAlike(string reader, IDictionary<string, Entry[]> expected, Dictionary<string, Entry[]> read)
    {
        Assert.Equal(Calendars, read.Count);
        foreach (var (name, entries) in expected)
        {
            Assert.True(entries.SequenceEqual(InOrder(read[name])), $"""
                {reader} reads {name} differently.
                Meant: {string.Join("\n", entries.AsEnumerable())}
                Read:  {string.Join("\n", InOrder(read[name]).AsEnumerable())}
                """);
        }
    }

    private static Entry[] InOrder(IEnumerable<Entry> entries) => [.. entries.OrderBy(entry => entry.Uid, StringComparer.Ordinal)];

    private static string Root()
    {
        var directory = new DirectoryInfo(AppContext.BaseDirectory);
        while (!File.Exists(Path.Combine(directory.FullName, "School.sln")))
        {
            directory = directory.Parent ?? throw new InvalidOperationException("The tests run outside the source tree.");
        }

        return directory.FullName;
    }
}
