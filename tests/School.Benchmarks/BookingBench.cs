using System.Diagnostics;
using System.Globalization;
using System.Net;
using System.Net.Http.Json;
using System.Runtime.Versioning;
using System.Text.Json;
using Npgsql;

namespace School.Benchmarks;

/// <summary>
/// Booking over HTTP beside pgbench, which writes the same rows under the same locks, triggers and constraints in one transaction each;
/// what one booking costs the database; and many who want the same time at once.
/// </summary>
[UnsupportedOSPlatform("windows")]
internal sealed class BookingBench(DemoService school, BookingPlan plan)
{
    /// <summary>Of the school that is booked at.</summary>
    public const int Lessons = 2000;

    private const int Clients = 4;
    private const int Rounds = 5;
    private const double LeastOfPgbench = 0.25;
    private const int MostStatements = 10;
    private const int Rivals = 16;
    private const int Contests = 20;
    private static readonly TimeSpan Turn = TimeSpan.FromSeconds(2);

    // A server process tells what it did at the latest after so long without anything to do (PostgreSQL's documentation, "The Cumulative Statistics System").
    private static readonly TimeSpan UntilCounted = TimeSpan.FromSeconds(15);

    public static async Task<IReadOnlyList<string>> MeasureAsync(DemoService school)
    {
        await using var plan = await BookingPlan.MakeAsync(school);
        return await new BookingBench(school, plan).MeasureAsync();
    }

    private async Task<IReadOnlyList<string>> MeasureAsync() =>
        [.. await RateAsync(), .. await CostAsync(withKey: false), .. await CostAsync(withKey: true), .. await ContestAsync()];

    private async Task<IReadOnlyList<string>> RateAsync()
    {
        var lesson = await BookAsync(plan.Office, plan.Next(), null);
        var written = await plan.WrittenWithAsync(lesson);
        var pgbench = await PgbenchBooking.LikeAsync(plan, lesson, Clients);
        await RoundAsync();
        await pgbench.RunAsync(Turn);
        var copied = await plan.WrittenWithAsync(await pgbench.LastAsync());
        if (!copied.SequenceEqual(written))
        {
            throw new InvalidOperationException($"pgbench writes {Told(copied)}, a booking {Told(written)}.");
        }

        var (service, bench) = (new List<double>(), new List<double>());
        for (var round = 0; round < Rounds; round++)
        {
            service.Add(await RoundAsync());
            bench.Add(await pgbench.RunAsync(Turn));
        }

        var ratio = Median(service) / Median(bench);
        return
        [
            $"booking-writes {Told(written)}, and so does pgbench",
            Text($"booking-rate {Median(service):0} bookings-a-second (ratio {ratio:0.000} to pgbench at {Median(bench):0}; {Clients} clients each; goal at least {LeastOfPgbench}) {Verdict(ratio >= LeastOfPgbench)}"),
        ];
    }

    /// <summary>Bookings a second while each client books one after the other.</summary>
    private async Task<double> RoundAsync()
    {
        var started = Stopwatch.GetTimestamp();
        var counts = await Task.WhenAll(Enumerable.Range(0, Clients).Select(async client =>
        {
            var count = 0;
            for (; Stopwatch.GetElapsedTime(started) < Turn; count++)
            {
                await BookAsync(plan.Office, plan.Next(client, Clients), null);
            }

            return count;
        }));
        return counts.Sum() / Stopwatch.GetElapsedTime(started).TotalSeconds;
    }

    private async Task<IReadOnlyList<string>> CostAsync(bool withKey)
    {
        const int Bookings = 100;
        await using var wire = new CountingWire(plan.Port);
        await using var node = await DemoService.OnWireAsync(school, plan.ThroughAsService(wire.Port));
        using var office = new HttpClient { BaseAddress = node.Url, DefaultRequestHeaders = { Authorization = plan.Office.DefaultRequestHeaders.Authorization } };
        for (var n = 0; n < 20; n++)
        {
            await BookAsync(office, plan.Next(), withKey ? $"{Guid.NewGuid()}" : null);
        }

        await Task.Delay(UntilCounted);
        var (ways, statements) = wire.Counted;
        var (commits, writers) = await plan.TransactionsAsync();
        for (var n = 0; n < Bookings; n++)
        {
            await BookAsync(office, plan.Next(), withKey ? $"{Guid.NewGuid()}" : null);
        }

        var (waysAfter, statementsAfter) = wire.Counted;
        await Task.Delay(UntilCounted);
        var (commitsAfter, writersAfter) = await plan.TransactionsAsync();
        var (sent, inAll) = ((waysAfter - ways) / (double)Bookings, (statementsAfter - statements) / (double)Bookings);
        var (ended, wrote) = ((commitsAfter - commits) / (double)Bookings, (writersAfter - writers) / (double)Bookings);
        var name = withKey ? "booking-with-key" : "booking";
        // A savepoint that is written under has an id of its own.
        var ids = withKey ? 2 : 1;
        return
        [
            Text($"{name}-statements {sent:0.0} sent one after the other, sign-in, BEGIN and COMMIT among them ({inAll:0.0} in all, counting those that go together; goal at most {MostStatements}) {Verdict(sent <= MostStatements)}"),
            Text($"{name}-commits {wrote / ids:0.00} that write, by transaction ids ({ended:0.00} in all, with the read of who asks; goal 1) {Verdict(Math.Abs((wrote / ids) - 1) < 0.05)}"),
        ];
    }

    /// <summary>With open pages that are told of each booking, and without.</summary>
    private async Task<IReadOnlyList<string>> ToldAsync()
    {
        await using var told = new ToldBench(plan, RoundAsync, () => BookAsync(plan.Office, plan.Next(), null));
        return await told.MeasureAsync();
    }

    public static async Task<IReadOnlyList<string>> MeasureToldAsync(DemoService school)
    {
        await using var plan = await BookingPlan.MakeAsync(school);
        return await new BookingBench(school, plan).ToldAsync();
    }

    private async Task<IReadOnlyList<string>> ContestAsync()
    {
        var (alone, slowest, winners) = (new List<double>(), new List<double>(), new List<int>());
        var deadlocks = await plan.DeadlocksAsync();
        for (var n = 0; n < Contests; n++)
        {
            var started = Stopwatch.GetTimestamp();
            await BookAsync(plan.Office, plan.Next(), null);
            alone.Add(Stopwatch.GetElapsedTime(started).TotalMilliseconds);

            var rivals = await plan.RivalsAsync(n, Rivals);
            var answers = await Task.WhenAll(rivals.Select(async rival =>
            {
                var begun = Stopwatch.GetTimestamp();
                using var answer = await plan.Office.PostAsJsonAsync("/api/v1/lessons", rival.Body);
                await answer.Content.ReadAsByteArrayAsync();
                return (answer.StatusCode, Took: Stopwatch.GetElapsedTime(begun).TotalMilliseconds);
            }));
            slowest.Add(answers.Max(answer => answer.Took));
            winners.Add(answers.Count(answer => answer.StatusCode == HttpStatusCode.Created));
            if (answers.FirstOrDefault(answer => answer.StatusCode is not (HttpStatusCode.Created or HttpStatusCode.Conflict or HttpStatusCode.UnprocessableEntity)) is { StatusCode: not 0 } odd)
            {
                throw new InvalidOperationException($"A rival was answered {(int)odd.StatusCode}.");
            }
        }

        await Task.Delay(UntilCounted);
        var (ratio, dead) = (Median(slowest) / Median(alone), await plan.DeadlocksAsync() - deadlocks);
        return
        [
            Text($"booking-rivals {Median(slowest):0.0} ms slowest of {Rivals} on one time (ratio {ratio:0.0} to a lone booking at {Median(alone):0.0} ms, medians of {Contests}; worst {slowest.Max():0.0} ms; goal at most {Rivals}) {Verdict(ratio <= Rivals)}"),
            Text($"booking-rivals-winners {winners.Min()} to {winners.Max()} of {Rivals} (goal 1 each time) {Verdict(winners.TrueForAll(count => count == 1))}"),
            Text($"booking-rivals-deadlocks {dead} (goal 0) {Verdict(dead == 0)}"),
        ];
    }

    private static async Task<Guid> BookAsync(HttpClient office, WantedTime wanted, string? key)
    {
        using var request = new HttpRequestMessage(HttpMethod.Post, "/api/v1/lessons") { Content = JsonContent.Create(wanted.Body) };
        if (key is not null)
        {
            request.Headers.Add("Idempotency-Key", key);
        }

        using var answer = await office.SendAsync(request);
        return answer.StatusCode == HttpStatusCode.Created
            ? (await answer.Content.ReadFromJsonAsync<JsonElement>()).GetProperty("id").GetGuid()
            : throw new InvalidOperationException($"{wanted} was answered {(int)answer.StatusCode}: {await answer.Content.ReadAsStringAsync()}");
    }

    private static string Told(IReadOnlyList<(string Table, long Rows)> written) => string.Join(", ", written.Select(w => $"{w.Rows} {w.Table}"));

    private static string Verdict(bool met) => met ? "met" : "missed";

    private static string Text(FormattableString line) => line.ToString(CultureInfo.InvariantCulture);

    private static double Median(List<double> values) => values.Order().ElementAt(values.Count / 2);
}
