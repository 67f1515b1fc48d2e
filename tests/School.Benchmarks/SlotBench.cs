using System.Diagnostics;
using System.Net.Http.Json;
using System.Text.Json;
using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Slots;
using School.Core.Tests.Diary.Slots;
using School.Core.Travel;

namespace School.Benchmarks;

/// <summary>Slot search: the kernel beside the brute-force oracle of the tests, and over HTTP beside a one-row read of the same service.</summary>
internal static class SlotBench
{
    private const int Rounds = 5;

    // As the service asks for.
    private const int MostOffers = 2000;

    public static IReadOnlyList<string> MeasureKernel()
    {
        const int SearchesPerRound = 40;
        var travel = new StraightLineTravel(new());
        var (picture, wishes) = LargeSchool.Make();
        var dates = Enumerable.Range(0, LargeSchool.Days).Select(LargeSchool.First.PlusDays).ToList();
        var entries = picture.Instructors.Sum(diary => diary.Entries.Count);
        var ground = new SearchGround(picture.Rules, picture.Zone, travel);
        var days = LayOut(ground, picture, dates);
        var workspace = new SlotWorkspace();
        var best = new SlotStart[MostOffers];
        foreach (var wish in wishes)
        {
            workspace.Search(ground, picture.Now, wish, days, best);
        }

        var (kernel, cold, oracle) = (new List<double>(), new List<double>(), new List<double>());
        var allocated = 0L;
        for (var round = 0; round < Rounds; round++)
        {
            var wish = wishes[round % wishes.Count];
            var started = Stopwatch.GetTimestamp();
            var expected = new SlotOracle(picture, wish, travel).JudgeAll(out _).Count(judged => judged.Answer.Broken is null);
            oracle.Add(Stopwatch.GetElapsedTime(started).TotalMilliseconds);

            var before = GC.GetAllocatedBytesForCurrentThread();
            started = Stopwatch.GetTimestamp();
            var found = 0;
            for (var n = 0; n < SearchesPerRound; n++)
            {
                found = workspace.Search(ground, picture.Now, wish, days, best).Found;
            }

            kernel.Add(Stopwatch.GetElapsedTime(started).TotalMilliseconds / SearchesPerRound);
            allocated += GC.GetAllocatedBytesForCurrentThread() - before;
            if (found != expected || found == 0)
            {
                throw new InvalidOperationException($"The search found {found} starts and the oracle {expected}.");
            }

            started = Stopwatch.GetTimestamp();
            var fresh = new SearchGround(picture.Rules, picture.Zone, travel);
            new SlotWorkspace().Search(fresh, picture.Now, wish, LayOut(fresh, picture, dates), best);
            cold.Add(Stopwatch.GetElapsedTime(started).TotalMilliseconds);
        }

        var unit = Median(oracle);
        return
        [
            $"slot-kernel {Median(kernel):0.000} ms (ratio {unit / Median(kernel):0} times as fast as the brute-force oracle at {unit:0} ms; goal 100; {picture.Instructors.Count} instructors, {LargeSchool.Days} days, {entries} entries)",
            $"slot-kernel-allocated {allocated / (Rounds * SearchesPerRound)} bytes-per-search (ratio 0 is the goal)",
            $"slot-kernel-nothing-laid-out {Median(cold):0.0} ms (ratio {unit / Median(cold):0} times as fast as the brute-force oracle)",
        ];
    }

    public static async Task<IReadOnlyList<string>> MeasureHttpAsync(DemoService school)
    {
        using var office = await school.ApiAsync("office@larkfield.example");
        using var pupil = await school.ApiAsync("pupil@larkfield.example");
        var pupilId = await FirstIdAsync(pupil, "/api/v1/pupils");
        var instructorId = await FirstIdAsync(office, "/api/v1/instructors");
        var today = Today();
        string Search(int days, string more) =>
            $"/api/v1/slots?pupilId={pupilId}&minutes=60&from={today:uuuu-MM-dd}&to={today.PlusDays(days):uuuu-MM-dd}{more}";
        var subjects = new List<(string Name, HttpClient Client, string Path)>
        {
            ("one-row-read", pupil, $"/api/v1/pupils/{pupilId}"),
            ("own-instructor-4-weeks-best-20", pupil, Search(27, $"&instructorId={instructorId}&limit=20")),
            ("any-instructor-4-weeks-best-20", pupil, Search(27, "&limit=20")),
            ("own-instructor-1-week-all", pupil, Search(6, $"&instructorId={instructorId}")),
        };
        foreach (var (name, client, path) in subjects)
        {
            var answer = await client.GetFromJsonAsync<JsonElement>(path);
            if (answer.TryGetProperty("found", out var found) && found.GetInt32() == 0)
            {
                throw new InvalidOperationException($"{name} finds nothing, so it measures nothing.");
            }

            await RunAsync(client, path, TimeSpan.FromSeconds(1));
        }

        var rates = subjects.ToDictionary(s => s.Name, _ => new List<double>());
        var slowest = subjects.ToDictionary(s => s.Name, _ => new List<double>());
        for (var round = 0; round < Rounds; round++)
        {
            foreach (var (name, client, path) in subjects)
            {
                var (rate, p99) = await RunAsync(client, path, TimeSpan.FromSeconds(2));
                rates[name].Add(rate);
                slowest[name].Add(p99);
            }
        }

        var (unit, unit99) = (Median(rates["one-row-read"]), Median(slowest["one-row-read"]));
        return [.. subjects.Select(s =>
            $"slots-http-{s.Name} {Median(rates[s.Name]):0} requests/s (ratio {Median(rates[s.Name]) / unit:0.00} to the one-row read; p99 {Median(slowest[s.Name]):0.0} ms, ratio {Median(slowest[s.Name]) / unit99:0.00}; goals at least 0.5, at most 2)")];
    }

    private static PreparedDay[] LayOut(SearchGround ground, DiaryPicture picture, IReadOnlyList<LocalDate> dates) =>
        [.. picture.Instructors.SelectMany(diary => ground.Prepare(picture, diary, dates))];

    /// <summary>Two at a time, as many as the machine has cores to answer with.</summary>
    private static async Task<(double Rate, double P99)> RunAsync(HttpClient client, string path, TimeSpan length)
    {
        var started = Stopwatch.GetTimestamp();
        var times = await Task.WhenAll(Enumerable.Range(0, 2).Select(_ => Task.Run(async () =>
        {
            var own = new List<double>();
            while (Stopwatch.GetElapsedTime(started) < length)
            {
                var asked = Stopwatch.GetTimestamp();
                using var answer = await client.GetAsync(path);
                await answer.Content.ReadAsByteArrayAsync();
                answer.EnsureSuccessStatusCode();
                own.Add(Stopwatch.GetElapsedTime(asked).TotalMilliseconds);
            }

            return own;
        })));
        var all = times.SelectMany(t => t).Order().ToList();
        return (all.Count / Stopwatch.GetElapsedTime(started).TotalSeconds, all[Math.Min(all.Count - 1, all.Count * 99 / 100)]);
    }

    private static async Task<string> FirstIdAsync(HttpClient client, string path) =>
        (await client.GetFromJsonAsync<JsonElement>(path)).GetProperty("items")[0].GetProperty("id").GetString()!;

    private static double Median(List<double> figures) => figures.Order().ElementAt(figures.Count / 2);

#pragma warning disable RS0030 // The demo is dated relative to the real today.
    private static LocalDate Today() => SystemClock.Instance.GetCurrentInstant().InUtc().Date;
#pragma warning restore RS0030
}
