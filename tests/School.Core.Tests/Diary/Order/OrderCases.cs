using School.Core.Diary.Order;

namespace School.Core.Tests.Diary.Order;

/// <summary>Invented days for the day program: stops about a town some twelve kilometres across, each wished around the time it
/// has in an order that can be driven.</summary>
internal static class OrderCases
{
    /// <summary>A day whose order 0, 1, 2, … keeps every window.</summary>
    /// <param name="seed">Which day.</param>
    /// <param name="stops">How many stops.</param>
    /// <param name="hours">How many hours earlier or later than in that order each may start.</param>
    /// <param name="plain">Whether every stop has just that window; otherwise some are fixed, some have two windows, and some
    /// days keep a grid.</param>
    public static OrderProblem Make(int seed, int stops, int hours, bool plain)
    {
        var random = new Random(seed);
        var places = Enumerable.Range(0, stops + 2).Select(_ => (X: random.Next(1200), Y: random.Next(1200))).ToArray();
        var travel = new int[(stops + 1) * (stops + 1)];
        for (var i = 0; i <= stops; i++)
        {
            for (var j = 0; j <= stops; j++)
            {
                travel[i * (stops + 1) + j] = Minutes(places[i], j == stops ? places[stops + 1] : places[j]) + random.Next(3);
            }
        }
        var grid = plain || random.Next(2) == 0 ? 1 : 15;
        var (at, free) = (stops, 8 * 60);
        var day = new List<OrderStop>();
        for (var i = 0; i < stops; i++)
        {
            free += travel[at * (stops + 1) + i] + random.Next(20);
            var start = (free + grid - 1) / grid * grid;
            var service = random.Next(3) * 10 + 45;
            day.Add(new(plain ? [new(start - hours * 60, start + hours * 60)] : Windows(random, start, hours), service));
            (at, free) = (i, start + service);
        }
        return new(day, travel, 6 * 60 - hours * 60, free + 120 + hours * 60, grid);
    }

    private static List<StartWindow> Windows(Random random, int start, int hours) => random.Next(6) switch
    {
        0 => [new(start, start)],
        1 => [new(start - hours * 60, start - hours * 30), new(start - 7, start + 60)],
        2 => [new(start - 30, start + 30), new(start + 90, start + 90 + hours * 30)],
        _ => [new(start - hours * 60, start + hours * 60)],
    };

    // 25 km/h on roads a third longer than the straight line, in units of ten metres; and never no time at all.
    private static int Minutes((int X, int Y) from, (int X, int Y) to) =>
        1 + (int)(Math.Sqrt(Math.Pow(from.X - to.X, 2) + Math.Pow(from.Y - to.Y, 2)) * 1.33 / 100 * 60 / 25);
}
