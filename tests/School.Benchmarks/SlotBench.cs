using System.Diagnostics;
using System.Globalization;
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
    private const double LeastOfBest = 0.6;
    private const double LeastOfPage = 0.4;
    private const double MostSlower = 2;

    /// <summary>A search for a lesson with breaks, or of a kind, takes at most so many times as long as one for an hour like any other.</summary>
    private const double MostOfPlain = 2;

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

        var unit = Load.Median(oracle);
        return
        [
            .. Besides(ground, picture, wishes[0], days, SearchesPerRound),
            $"slot-kernel {Load.Median(kernel):0.000} ms (ratio {unit / Load.Median(kernel):0} times as fast as the brute-force oracle at {unit:0} ms; goal 100; {picture.Instructors.Count} instructors, {LargeSchool.Days} days, {entries} entries)",
            $"slot-kernel-allocated {allocated / (Rounds * SearchesPerRound)} bytes-per-search (ratio 0 is the goal)",
            $"slot-kernel-nothing-laid-out {Load.Median(cold):0.0} ms (ratio {unit / Load.Median(cold):0} times as fast as the brute-force oracle)",
        ];
    }

    /// <summary>The same pupil, places and days, in turn: an hour like any other, lessons longer than the rest limit, and kinds with rules of their own.</summary>
    private static List<string> Besides(SearchGround ground, DiaryPicture picture, LessonWish plain, PreparedDay[] days, int searches)
    {
        plain = plain with { AnyStart = true };
        (string Name, LessonWish Wish)[] cases =
        [
            ("plain", plain),
            ("one-break", plain with { Minutes = 125 }),
            ("two-breaks", plain with { Minutes = 245 }),
            ("motorway", plain with { Kind = LessonKind.Motorway }),
            ("intensive", plain with { Minutes = 240, Kind = LessonKind.Intensive }),
        ];
        var (workspace, best) = (new SlotWorkspace(), new SlotStart[MostOffers]);
        var (times, found) = (cases.Select(_ => new List<double>()).ToArray(), new int[cases.Length]);
        for (var round = -1; round < Rounds; round++)
        {
            for (var n = 0; n < cases.Length; n++)
            {
                var started = Stopwatch.GetTimestamp();
                for (var search = 0; search < searches; search++)
                {
                    found[n] = workspace.Search(ground, picture.Now, cases[n].Wish, days, best).Found;
                }

                // The first round only warms up.
                if (round >= 0)
                {
                    times[n].Add(Stopwatch.GetElapsedTime(started).TotalMilliseconds / searches);
                }
            }
        }

        if (found.Contains(0))
        {
            throw new InvalidOperationException("A search finds nothing, so it measures nothing.");
        }

        var unit = Load.Median(times[0]);
        return
        [
            .. cases.Select((one, n) => (one.Name, Took: Load.Median(times[n]), Breaks: LessonPlan.Of(one.Wish.Minutes, picture.Rules).Breaks.Count, Found: found[n], one.Wish.Minutes)).Skip(1).Select(one => string.Create(
                CultureInfo.InvariantCulture,
                $"slot-kernel-{one.Name} {one.Took:0.000} ms (ratio {one.Took / unit:0.00} to the plain search at {unit:0.000} ms; goal at most {MostOfPlain}; {one.Minutes} minutes, {one.Breaks} breaks, {one.Found} starts) {Load.Met(one.Took / unit <= MostOfPlain)}")),
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
        var subjects = new List<Asked>
        {
            new("one-row-read", pupil, $"/api/v1/pupils/{pupilId}"),
            new("own-instructor-4-weeks-best-20", pupil, Search(27, $"&instructorId={instructorId}&limit=20")),
            new("any-instructor-4-weeks-best-20", pupil, Search(27, "&limit=20")),
            new("any-instructor-4-weeks-page-of-200", pupil, Search(27, "&limit=200")),
            new("own-instructor-1-week-all", pupil, Search(6, $"&instructorId={instructorId}")),
        };
        foreach (var subject in subjects)
        {
            var answer = await subject.Client.GetFromJsonAsync<JsonElement>(subject.Path);
            if (answer.TryGetProperty("found", out var found) && found.GetInt32() == 0)
            {
                throw new InvalidOperationException($"{subject.Name} finds nothing, so it measures nothing.");
            }
        }

        var rates = await Load.InTurnAsync(subjects, Rounds, TimeSpan.FromSeconds(2));
        var unit = rates[0];
        return [.. subjects.Zip(rates).Skip(1).Select(pair => Line(pair.First.Name, pair.Second, unit))];
    }

    private static string Line(string name, (double Rate, double P99) seen, (double Rate, double P99) unit)
    {
        var least = name.EndsWith("best-20", StringComparison.Ordinal) ? LeastOfBest : LeastOfPage;
        var (ratio, slower) = (seen.Rate / unit.Rate, seen.P99 / unit.P99);
        return string.Create(
            CultureInfo.InvariantCulture,
            $"slots-http-{name} {seen.Rate:0} requests/s (ratio {ratio:0.00} to the one-row read at {unit.Rate:0}; p99 {seen.P99:0.0} ms, ratio {slower:0.00}; goals at least {least}, at most {MostSlower}) {Load.Met(ratio >= least && slower <= MostSlower)}");
    }

    private static PreparedDay[] LayOut(SearchGround ground, DiaryPicture picture, IReadOnlyList<LocalDate> dates) =>
        [.. picture.Instructors.SelectMany(diary => ground.Prepare(picture, diary, dates))];

    private static async Task<string> FirstIdAsync(HttpClient client, string path) =>
        (await client.GetFromJsonAsync<JsonElement>(path)).GetProperty("items")[0].GetProperty("id").GetString()!;

#pragma warning disable RS0030 // The demo is dated relative to the real today.
    private static LocalDate Today() => SystemClock.Instance.GetCurrentInstant().InUtc().Date;
#pragma warning restore RS0030
}
