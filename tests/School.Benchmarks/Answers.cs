using System.Diagnostics;
using System.Net.Http.Json;
using System.Text.Json;
using NodaTime;
using NodaTime.Text;

namespace School.Benchmarks;

/// <summary>How long warm pages and API answers take on the demo data, one after another, beside a one-row read of the same service.</summary>
internal sealed class Answers(DemoService school)
{
    // Until the compiler has seen what is hot; with twenty, half of what is measured is code on its way to be compiled well.
    private const int Warm = 250;
    private const int Rounds = 5;
    private const int PerRound = 30;

    public async Task<IReadOnlyList<string>> MeasureAsync()
    {
        using var office = await school.ApiAsync("office@larkfield.example");
        using var officePages = await school.PagesAsync("office@larkfield.example");
        using var instructorPages = await school.PagesAsync("instructor@larkfield.example");
        using var pupilPages = await school.PagesAsync("pupil@larkfield.example");
        using var pupil = await school.ApiAsync("pupil@larkfield.example");
        var instructorId = await FirstIdAsync(office, "/api/v1/instructors");
        var pupilId = await FirstIdAsync(pupil, "/api/v1/pupils");
        var today = Today();
        var (from, to) = (Text(today), Text(today.PlusDays(27)));
        var subjects = new List<(string Name, HttpClient Client, string Path)>
        {
            ("one-row-read", office, $"/api/v1/instructors/{instructorId}"),
            ("slots-4-weeks-any-instructor", office, $"/api/v1/slots?pupilId={pupilId}&minutes=60&from={from}&to={to}"),
            ("slots-4-weeks-own-instructor", pupil, $"/api/v1/slots?pupilId={pupilId}&minutes=60&from={from}&to={to}&instructorId={instructorId}"),
            ("lessons-4-weeks", office, $"/api/v1/lessons?from={from}&to={to}&limit=200"),
            ("day-route", office, $"/api/v1/instructors/{instructorId}/day/{from}"),
            ("pupils", office, "/api/v1/pupils?limit=200"),
            ("cars", office, "/api/v1/cars"),
            ("page-pupil-home", pupilPages, "/diary/home"),
            ("page-pupil-book", pupilPages, "/diary/book"),
            ("page-pupil-lessons", pupilPages, "/diary/lessons"),
            ("page-instructor-day", instructorPages, "/diary/day"),
            ("page-instructor-week", instructorPages, "/diary/week"),
            ("page-instructor-pupils", instructorPages, "/pupils"),
            ("page-office-board", officePages, "/diary/board"),
            ("page-office-attention", officePages, "/diary/attention"),
            ("page-office-pupils", officePages, "/pupils"),
            ("page-office-cars", officePages, "/cars"),
            ("page-office-messages", officePages, "/messages"),
        };
        foreach (var (_, client, path) in subjects)
        {
            for (var n = 0; n < Warm; n++)
            {
                await GetAsync(client, path);
            }
        }

        // Interleaved, so that a busy moment of the machine falls on all alike.
        var times = subjects.ToDictionary(s => s.Name, _ => new List<double>());
        for (var round = 0; round < Rounds; round++)
        {
            foreach (var (name, client, path) in subjects)
            {
                for (var n = 0; n < PerRound; n++)
                {
                    times[name].Add(await GetAsync(client, path));
                }
            }
        }

        var unit = Median(times["one-row-read"]);
        return [.. subjects.Select(s =>
            $"{s.Name} {Percentile(times[s.Name], 95):0.0} ms-p95 (median {Median(times[s.Name]):0.0} ms, ratio {Median(times[s.Name]) / unit:0.00} to one-row-read)")];
    }

    private static async Task<double> GetAsync(HttpClient client, string path)
    {
        var started = Stopwatch.GetTimestamp();
        using var answer = await client.GetAsync(path);
        await answer.Content.ReadAsByteArrayAsync();
        var taken = Stopwatch.GetElapsedTime(started).TotalMilliseconds;
        return answer.IsSuccessStatusCode ? taken : throw new InvalidOperationException($"{path} answered {(int)answer.StatusCode}.");
    }

    private static async Task<string> FirstIdAsync(HttpClient client, string path) =>
        (await client.GetFromJsonAsync<JsonElement>(path)).GetProperty("items")[0].GetProperty("id").GetString()!;

    private static double Median(List<double> times) => Percentile(times, 50);

    private static double Percentile(List<double> times, int percent)
    {
        var ordered = times.Order().ToList();
        return ordered[Math.Min(ordered.Count - 1, ordered.Count * percent / 100)];
    }

    private static string Text(LocalDate date) => LocalDatePattern.Iso.Format(date);

#pragma warning disable RS0030 // The demo is dated relative to the real today.
    private static LocalDate Today() => SystemClock.Instance.GetCurrentInstant().InUtc().Date;
#pragma warning restore RS0030
}
