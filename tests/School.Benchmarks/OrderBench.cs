using System.Diagnostics;
using System.Globalization;
using School.Core.Diary.Order;
using School.Core.Tests.Diary.Order;

namespace School.Benchmarks;

/// <summary>How long the day program takes beside the CP-SAT solver (2 workers), and on published instances.</summary>
internal static class OrderBench
{
    private const int Rounds = 5;
    private const int Days = 4;
    private const int Stops = 12;

    public static IEnumerable<string> Measure()
    {
        yield return Beside(1);
        yield return Beside(10);
        yield return Published();
    }

    private static string Beside(int hours)
    {
        var days = Enumerable.Range(0, Days).Select(i => OrderCases.Make(100 * hours + i, Stops, hours, plain: true)).ToArray();
        foreach (var day in days)
        {
            Repeat(() => OrderProgram.Solve(day), 50);
            OrderModel.Minimum(day);
        }
        var (ours, theirs, equal) = (new List<double>(), new List<double>(), 0);
        for (var round = 0; round < Rounds; round++)
        {
            foreach (var day in days)
            {
                var found = 0;
                int? proved = null;
                ours.Add(Repeat(() => found = OrderProgram.Solve(day).Best!.TravelMinutes, 20));
                theirs.Add(Repeat(() => proved = OrderModel.Minimum(day), 1));
                equal += found == proved ? 1 : 0;
            }
        }
        var (mine, other) = (Median(ours), Median(theirs));
        return string.Create(CultureInfo.InvariantCulture,
            $"day program n={Stops} ±{hours}h {mine:0.000} ms (ratio {other / mine:0} times as fast as CP-SAT's {other:0.0} ms, equal in {equal} of {Rounds * Days})");
    }

    private static string Published()
    {
        if (Dumas.Folder() is not { } folder)
        {
            return "day program Dumas n20 skipped (the reference instances are not there)";
        }

        var instances = Dumas.Read(folder);
        foreach (var (_, day, _) in instances)
        {
            Repeat(() => OrderProgram.Solve(day), 20);
        }

        var medians = instances.Select(instance =>
            Median([.. Enumerable.Range(0, Rounds).Select(_ => Repeat(() => OrderProgram.Solve(instance.Day), 10))])).ToList();
        var optimal = instances.Count(instance => OrderProgram.Solve(instance.Day).Best!.TravelMinutes == instance.Optimum);
        return string.Create(CultureInfo.InvariantCulture,
            $"day program Dumas n20 {Median(medians):0.000} ms (worst instance {medians.Max():0.000} ms, {optimal} of {instances.Count} optimal)");
    }

    /// <summary>Milliseconds of one run, of several in a row.</summary>
    private static double Repeat(Action run, int times)
    {
        var started = Stopwatch.GetTimestamp();
        for (var i = 0; i < times; i++)
        {
            run();
        }

        return Stopwatch.GetElapsedTime(started).TotalMilliseconds / times;
    }

    private static double Median(List<double> times) => times.Order().ElementAt(times.Count / 2);
}
