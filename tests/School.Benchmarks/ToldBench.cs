using System.Diagnostics;
using System.Globalization;
using System.Net.ServerSentEvents;
using System.Runtime.Versioning;
using System.Threading.Channels;

namespace School.Benchmarks;

/// <summary>What it costs a booking that open pages are told of it, and how soon they are.</summary>
[UnsupportedOSPlatform("windows")]
internal sealed class ToldBench(BookingPlan plan, Func<Task<double>> round, Func<Task> book) : IAsyncDisposable
{
    private const int Rounds = 5;
    private const int Streams = 8;
    private const int Bookings = 60;
    private const double LeastOfSilent = 0.9;
    private const int MostMilliseconds = 300;
    private readonly CancellationTokenSource _stop = new();
    private readonly List<Task> _reading = [];
    private readonly Channel<long> _heard = Channel.CreateUnbounded<long>();

    public async Task<IReadOnlyList<string>> MeasureAsync()
    {
        for (var n = 0; n < Streams; n++)
        {
            var answer = await plan.Office.GetAsync("/api/v1/events", HttpCompletionOption.ResponseHeadersRead);
            answer.EnsureSuccessStatusCode();
            _reading.Add(ReadAsync(answer, n == 0));
        }

        var told = (await plan.ReadAsync("SELECT pg_get_functiondef('diary.tell_change'::regproc)", row => row.GetString(0)))[0];
        var (with, without) = (new List<double>(), new List<double>());
        try
        {
            for (var n = 0; n < Rounds; n++)
            {
                await DoAsync(told);
                with.Add(await round());
                await DoAsync("CREATE OR REPLACE FUNCTION diary.tell_change(kind text, subject uuid, day date, version bigint) RETURNS void LANGUAGE sql AS 'SELECT NULL::void'");
                without.Add(await round());
            }
        }
        finally
        {
            await DoAsync(told);
        }

        var waits = new List<double>();
        for (var n = 0; n < Bookings; n++)
        {
            while (_heard.Reader.TryRead(out _))
            {
            }

            await book();
            var booked = Stopwatch.GetTimestamp();
            using var limit = new CancellationTokenSource(TimeSpan.FromSeconds(10));
            waits.Add(Math.Max(0, Stopwatch.GetElapsedTime(booked, await _heard.Reader.ReadAsync(limit.Token)).TotalMilliseconds));
            await Task.Delay(50);
        }

        waits.Sort();
        var (ratio, late) = (Median(with) / Median(without), waits[(int)(waits.Count * 0.95)]);
        return
        [
            Text($"booking-told {Median(with):0} bookings-a-second with {Streams} streams that are told of them (ratio {ratio:0.000} to {Median(without):0} that nobody is told of; goal at least {LeastOfSilent}) {Verdict(ratio >= LeastOfSilent)}"),
            Text($"booking-heard {late:0.0} ms p95 from the answer to the event (median {Median(waits):0.0} ms of {Bookings}; goal at most {MostMilliseconds}) {Verdict(late <= MostMilliseconds)}"),
        ];
    }

    public async ValueTask DisposeAsync()
    {
        await _stop.CancelAsync();
        await Task.WhenAll(_reading);
        _stop.Dispose();
    }

    private async Task ReadAsync(HttpResponseMessage answer, bool notes)
    {
        using (answer)
        {
            try
            {
                var events = SseParser.Create(await answer.Content.ReadAsStreamAsync(_stop.Token));
                await foreach (var _ in events.EnumerateAsync(_stop.Token))
                {
                    if (notes)
                    {
                        _heard.Writer.TryWrite(Stopwatch.GetTimestamp());
                    }
                }
            }
            catch (Exception ended) when (ended is OperationCanceledException or IOException)
            {
                // The bench is over.
            }
        }
    }

    private async Task DoAsync(string sql)
    {
        await using var command = plan.Source.CreateCommand(sql);
        await command.ExecuteNonQueryAsync();
    }

    private static string Verdict(bool met) => met ? "met" : "missed";

    private static string Text(FormattableString line) => line.ToString(CultureInfo.InvariantCulture);

    private static double Median(List<double> values) => values.Order().ElementAt(values.Count / 2);
}
