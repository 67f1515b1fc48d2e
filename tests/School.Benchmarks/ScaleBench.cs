using System.Diagnostics;
using System.Globalization;
using System.Runtime.Versioning;

namespace School.Benchmarks;

/// <summary>
/// Every page and list of a school that has taught for ten years beside those of one that has begun: what grows although what is shown
/// does not. Both have the same present, so that the past alone is the difference.
/// </summary>
[UnsupportedOSPlatform("windows")]
internal sealed class ScaleBench(DemoService young, int few, DemoService old, int many)
{
    private const int Warm = 4;
    private const int Rounds = 4;
    private const int PerRound = 12;
    private const double MostRatio = 2;
    private const double MostMilliseconds = 50;
    private const double MostOfAttention = 25;

    public async Task<IReadOnlyList<string>> MeasureAsync()
    {
        await using var small = await ScaleVisit.SignInAsync(young);
        await using var large = await ScaleVisit.SignInAsync(old);
        var subjects = small.Addresses.Zip(large.Addresses, (one, other) => (one.Name, Small: one, Large: other)).ToList();
        var times = subjects.ToDictionary(subject => subject.Name, _ => (Small: new List<double>(), Large: new List<double>()));
        foreach (var subject in subjects)
        {
            for (var n = 0; n < Warm; n++)
            {
                await GetAsync(subject.Small);
                await GetAsync(subject.Large);
            }
        }

        // Turn by turn, so that a busy moment of the machine falls on both.
        for (var round = 0; round < Rounds; round++)
        {
            foreach (var subject in subjects)
            {
                for (var n = 0; n < PerRound; n++)
                {
                    times[subject.Name].Small.Add(await GetAsync(subject.Small));
                    times[subject.Name].Large.Add(await GetAsync(subject.Large));
                }
            }
        }

        var lines = subjects.ConvertAll(subject => Line(subject.Name, times[subject.Name].Small, times[subject.Name].Large));
        return
        [
            .. lines.Select(line => line.Text),
            $"scale-pages-and-lists {lines.Count(line => line.Met)} of {lines.Count} within the goals ({few} and {many} lessons) {(lines.TrueForAll(line => line.Met) ? "met" : "missed")}",
        ];
    }

    private static (string Text, bool Met) Line(string name, List<double> small, List<double> large)
    {
        var (p50, p95, before50, before95) = (Percentile(large, 50), Percentile(large, 95), Percentile(small, 50), Percentile(small, 95));
        var most = name.Contains("attention", StringComparison.Ordinal) ? MostOfAttention : MostMilliseconds;
        var met = p95 <= MostRatio * before95 && p95 <= most;
        return (string.Create(
            CultureInfo.InvariantCulture,
            $"scale {name} {p95:0.0} ms-p95 (p50 {p50:0.0}; small school p95 {before95:0.0}, p50 {before50:0.0}; ratio {p95 / before95:0.00} of p95, {p50 / before50:0.00} of p50; goals at most {MostRatio}, {most} ms) {(met ? "met" : "missed")}"),
            met);
    }

    private static async Task<double> GetAsync(ScaleAddress address)
    {
        var started = Stopwatch.GetTimestamp();
        using var answer = await address.Client.GetAsync(address.Path);
        await answer.Content.ReadAsByteArrayAsync();
        var taken = Stopwatch.GetElapsedTime(started).TotalMilliseconds;
        return answer.IsSuccessStatusCode ? taken : throw new InvalidOperationException($"{address.Name} ({address.Path}) answered {(int)answer.StatusCode}.");
    }

    private static double Percentile(List<double> times, int percent) => times.Order().ElementAt(Math.Min(times.Count - 1, times.Count * percent / 100));
}
