using System.Diagnostics;

namespace School.Benchmarks;

/// <summary>One address asked again and again.</summary>
internal sealed record Asked(string Name, HttpClient Client, string Path, string? Tag = null)
{
    public async Task<double> OnceAsync()
    {
        using var request = new HttpRequestMessage(HttpMethod.Get, Path);
        if (Tag is not null)
        {
            request.Headers.TryAddWithoutValidation("If-None-Match", Tag);
        }

        var started = Stopwatch.GetTimestamp();
        using var answer = await Client.SendAsync(request);
        await answer.Content.ReadAsByteArrayAsync();
        var taken = Stopwatch.GetElapsedTime(started).TotalMilliseconds;
        var expected = Tag is null ? answer.IsSuccessStatusCode : answer.StatusCode == System.Net.HttpStatusCode.NotModified;
        return expected ? taken : throw new InvalidOperationException($"{Path} answered {(int)answer.StatusCode}.");
    }
}

/// <summary>How many requests a second are answered, and how slow the slowest hundredth is.</summary>
internal static class Load
{
    /// <summary>Two at a time, as many as the machine has cores to answer with.</summary>
    public static async Task<(double Rate, double P99)> RunAsync(Asked asked, TimeSpan length, int clients = 2)
    {
        var started = Stopwatch.GetTimestamp();
        var times = await Task.WhenAll(Enumerable.Range(0, clients).Select(_ => Task.Run(async () =>
        {
            var own = new List<double>();
            while (Stopwatch.GetElapsedTime(started) < length)
            {
                own.Add(await asked.OnceAsync());
            }

            return own;
        })));
        var all = times.SelectMany(t => t).Order().ToList();
        return (all.Count / Stopwatch.GetElapsedTime(started).TotalSeconds, all[Math.Min(all.Count - 1, all.Count * 99 / 100)]);
    }

    /// <summary>Turn by turn, so that a busy moment of the machine falls on all alike; medians of the rounds, in the order of the subjects.</summary>
    public static async Task<IReadOnlyList<(double Rate, double P99)>> InTurnAsync(IReadOnlyList<Asked> subjects, int rounds, TimeSpan length)
    {
        foreach (var subject in subjects)
        {
            await RunAsync(subject, TimeSpan.FromSeconds(1.5));
        }

        var seen = subjects.Select(_ => new List<(double Rate, double P99)>()).ToList();
        for (var round = 0; round < rounds; round++)
        {
            for (var n = 0; n < subjects.Count; n++)
            {
                seen[n].Add(await RunAsync(subjects[n], length));
            }
        }

        return seen.ConvertAll(of => (Median(of.Select(one => one.Rate)), Median(of.Select(one => one.P99))));
    }

    public static double Median(IEnumerable<double> figures)
    {
        var ordered = figures.Order().ToList();
        return ordered[ordered.Count / 2];
    }

    public static string Met(bool met) => met ? "met" : "missed";
}
