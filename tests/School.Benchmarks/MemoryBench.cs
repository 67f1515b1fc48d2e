using System.Diagnostics;
using System.Globalization;
using System.Runtime.Versioning;

namespace School.Benchmarks;

/// <summary>What the service holds in memory while eight people open all pages and lists of a school, one after another, without a pause.</summary>
[UnsupportedOSPlatform("windows")]
internal static class MemoryBench
{
    private const int Clients = 8;
    private const double MostMegabytes = 300;
    private const double MostGrowth = 1.1;

    // Settings of the runtime (learn.microsoft.com, Runtime configuration options for garbage collection).
    private static readonly (string Name, (string, string)[] Settings)[] Kinds =
    [
        ("as-it-is", []),
        ("server", [("DOTNET_gcServer", "1"), ("DOTNET_GCDynamicAdaptationMode", "0")]),
        ("server-adapting", [("DOTNET_gcServer", "1"), ("DOTNET_GCDynamicAdaptationMode", "1")]),
        ("server-adapting-conserving", [("DOTNET_gcServer", "1"), ("DOTNET_GCDynamicAdaptationMode", "1"), ("DOTNET_GCConserveMemory", "5")]),
        ("workstation", [("DOTNET_gcServer", "0"), ("DOTNET_gcConcurrent", "1")]),
        ("workstation-not-concurrent", [("DOTNET_gcServer", "0"), ("DOTNET_gcConcurrent", "0")]),
        ("workstation-conserving", [("DOTNET_gcServer", "0"), ("DOTNET_gcConcurrent", "1"), ("DOTNET_GCConserveMemory", "5")]),
    ];

    /// <summary>Each kind of collection in turn, several times.</summary>
    public static async Task<IReadOnlyList<string>> CompareAsync(int lessons, string? keptIn, TimeSpan length, int rounds)
    {
        var seen = Kinds.Select(_ => new List<Run>()).ToList();
        for (var round = 0; round < rounds; round++)
        {
            for (var n = 0; n < Kinds.Length; n++)
            {
                await using var school = await DemoService.StartAsync(lessons, keptIn, settings: Kinds[n].Settings);
                seen[n].Add(await RunAsync(school, length));
                await Console.Error.WriteLineAsync($"{Kinds[n].Name} {seen[n][^1]}");
            }
        }

        return [.. Kinds.Select((kind, n) => string.Create(
            CultureInfo.InvariantCulture,
            $"memory-{kind.Name} {Of(n, run => run.Rate):0} requests/s (p99 {Of(n, run => run.P99):0.0} ms; MB at the start {Of(n, run => run.AtStart):0}, in the middle {Of(n, run => run.Middle):0}, at the end {Of(n, run => run.AtEnd):0}, most {Of(n, run => run.Most):0}; {rounds} runs of {length.TotalSeconds:0} s)"))];

        double Of(int n, Func<Run, double> figure) => Load.Median(seen[n].Select(figure));
    }

    /// <summary>As the service is set, for as long as is asked.</summary>
    public static async Task<string> DrillAsync(int lessons, string? keptIn, TimeSpan length)
    {
        await using var school = await DemoService.StartAsync(lessons, keptIn);
        var run = await RunAsync(school, length);
        var met = run.Most <= MostMegabytes && run.AtEnd <= MostGrowth * run.Middle;
        return string.Create(
            CultureInfo.InvariantCulture,
            $"memory-drill {run.Most:0} MB-most (at the start {run.AtStart:0}, in the middle {run.Middle:0}, at the end {run.AtEnd:0}; {lessons} lessons, {Clients} clients, {length.TotalSeconds:0} s, {run.Rate:0} requests/s; goals at most {MostMegabytes}, end at most {MostGrowth} of the middle) {Load.Met(met)}");
    }

    private static async Task<Run> RunAsync(DemoService school, TimeSpan length)
    {
        await using var visit = await ScaleVisit.SignInAsync(school);
        var addresses = visit.Addresses.Select(address => new Asked(address.Name, address.Client, address.Path)).ToList();
        var atStart = school.Megabytes();
        var (started, done, most) = (Stopwatch.GetTimestamp(), new List<double>[Clients], atStart);
        var clients = Enumerable.Range(0, Clients).Select(client => Task.Run(async () =>
        {
            var own = done[client] = [];
            // Each begins elsewhere, so that they do not walk in step.
            for (var n = client * addresses.Count / Clients; Stopwatch.GetElapsedTime(started) < length; n++)
            {
                own.Add(await addresses[n % addresses.Count].OnceAsync());
            }
        })).ToList();
        var (watched, later) = (Task.WhenAll(clients), new List<double>());
        while (await Task.WhenAny(watched, Task.Delay(TimeSpan.FromMilliseconds(500))) != watched)
        {
            later.Add(school.Megabytes());
            most = Math.Max(most, later[^1]);
        }

        await watched;
        var times = done.SelectMany(own => own).Order().ToList();
        // A tenth of the run around its middle, and its last tenth, so that no single moment counts.
        var tenth = Math.Max(1, later.Count / 10);
        return new(
            times.Count / length.TotalSeconds, times[times.Count * 99 / 100], atStart,
            Load.Median(later.Skip((later.Count - tenth) / 2).Take(tenth)), Load.Median(later.TakeLast(tenth)), most);
    }

    private sealed record Run(double Rate, double P99, double AtStart, double Middle, double AtEnd, double Most);
}
