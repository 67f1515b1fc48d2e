using System.Numerics;

namespace School.Core.Diary.Order;

/// <summary>Finds an order that keeps the windows, quickly, for days on which the exact search may grow too large.</summary>
/// <remarks>
/// Beam search (B. T. Lowerre, The HARPY speech recognition system, 1976): the first k stops of many orders side by side, of those that are at one
/// stop after the same others the earliest alone, and of all of them the most promising. Then single stops and short runs of stops are put elsewhere as
/// long as that drives less (Or-opt: I. Or, 1976). Both cited from memory. Where nothing had to be left out and no order is found, there is none.
/// </remarks>
internal sealed class OrderBeam(OrderProblem problem, OrderReach reach, int mostLabels, CancellationToken giveUp)
{
    private const int Longest = 3;

    private readonly int count = problem.Stops.Count;
    private readonly int all = (1 << problem.Stops.Count) - 1;

    private enum Rank
    {
        Driving,
        Early,
        Spare,
    }

    private readonly record struct Label(int Visited, int Last, int Start, int Driven, int Parent);

    /// <summary>Whether it is certain that no order keeps the windows.</summary>
    public bool IsImpossible { get; private set; }

    /// <summary>The best order found; null when none was.</summary>
    public DayOrder? Find()
    {
        DayOrder? best = null;
        foreach (var width in new[] { 128, 2048, mostLabels / Math.Max(1, count) })
        {
            foreach (var rank in Enum.GetValues<Rank>())
            {
                if (Sweep(rank, width, out var leftOut) is { } order)
                {
                    best = Less(best, Improve(OrderProgram.Follow(problem, order)!));
                }
                else if (!leftOut && !giveUp.IsCancellationRequested)
                {
                    IsImpossible = true;
                    return null;
                }
            }

            if (best is not null || giveUp.IsCancellationRequested)
            {
                break;
            }
        }

        return best;
    }

    private int[]? Sweep(Rank rank, int width, out bool leftOut)
    {
        leftOut = false;
        var layers = new List<Label[]> { new[] { new Label(0, count, problem.LeavesAt, 0, -1) } };
        var earliest = new Dictionary<int, int>();
        var next = new List<Label>();
        for (var depth = 0; depth < count; depth++)
        {
            earliest.Clear();
            next.Clear();
            for (var at = 0; at < layers[depth].Length; at++)
            {
                if (giveUp.IsCancellationRequested)
                {
                    leftOut = true;
                    return null;
                }

                CarryOn(layers[depth][at], at, earliest, next);
            }

            if (next.Count == 0)
            {
                return null;
            }

            if (next.Count > width)
            {
                leftOut = true;
                var (keys, labels) = (next.ConvertAll(label => Promise(rank, label)).ToArray(), next.ToArray());
                Array.Sort(keys, labels);
                layers.Add(labels[..width]);
            }
            else
            {
                layers.Add([.. next]);
            }
        }

        return Home(layers);
    }

    private void CarryOn(Label label, int at, Dictionary<int, int> earliest, List<Label> next)
    {
        for (var open = all & ~label.Visited; open != 0; open &= open - 1)
        {
            var stop = BitOperations.TrailingZeroCount(open);
            if ((reach.Before[stop] & ~label.Visited) != 0)
            {
                continue;
            }

            var start = reach.StartAt(stop, label.Start + reach.Legs[(label.Last * (count + 1)) + stop]);
            var visited = label.Visited | (1 << stop);
            if (start == OrderReach.Never || !reach.CanReachTheRest(stop, visited, start))
            {
                continue;
            }

            var one = new Label(visited, stop, start, label.Driven + problem.Drive(label.Last, stop), at);
            if (!earliest.TryGetValue(visited << 5 | stop, out var same))
            {
                earliest[visited << 5 | stop] = next.Count;
                next.Add(one);
            }
            else if ((one.Start, one.Driven).CompareTo((next[same].Start, next[same].Driven)) < 0)
            {
                next[same] = one;
            }
        }
    }

    private long Promise(Rank rank, Label label) => rank switch
    {
        Rank.Driving => ((long)label.Driven << 20) + label.Start,
        Rank.Early => ((long)label.Start << 20) + label.Driven,
        Rank.Spare => -((long)reach.Spare(label.Last, label.Visited, label.Start) << 20) + label.Driven,
    };

    private int[]? Home(List<Label[]> layers)
    {
        var (best, least) = (-1, int.MaxValue);
        for (var at = 0; at < layers[count].Length; at++)
        {
            var label = layers[count][at];
            var driven = label.Driven + problem.Drive(label.Last, count);
            if (label.Start + reach.Legs[(label.Last * (count + 1)) + count] <= problem.HomeBy && driven < least)
            {
                (best, least) = (at, driven);
            }
        }

        if (best < 0)
        {
            return null;
        }

        var order = new int[count];
        for (int depth = count, at = best; depth > 0; depth--)
        {
            order[depth - 1] = layers[depth][at].Last;
            at = layers[depth][at].Parent;
        }

        return order;
    }

    private DayOrder Improve(DayOrder order)
    {
        for (var better = Moved(order); better is not null && !giveUp.IsCancellationRequested; better = Moved(order))
        {
            order = better;
        }

        return order;
    }

    /// <summary>The first order that drives less with a short run of stops elsewhere, either way round.</summary>
    private DayOrder? Moved(DayOrder order)
    {
        for (var length = 1; length <= Longest; length++)
        {
            for (var from = 0; from + length <= count; from++)
            {
                var run = order.Stops.Skip(from).Take(length).ToArray();
                int[] rest = [.. order.Stops.Take(from), .. order.Stops.Skip(from + length)];
                for (var to = 0; to <= rest.Length; to++)
                {
                    foreach (var turned in length == 1 ? new[] { run } : [run, [.. run.Reverse()]])
                    {
                        if (OrderProgram.Follow(problem, [.. rest[..to], .. turned, .. rest[to..]]) is { } other && other.TravelMinutes < order.TravelMinutes)
                        {
                            return other;
                        }
                    }
                }
            }
        }

        return null;
    }

    private static DayOrder? Less(DayOrder? one, DayOrder? other) =>
        one is null || other?.TravelMinutes < one.TravelMinutes ? other : one;
}
