using System.Buffers;
using System.Numerics;
using School.Core.Diary.Slots;

namespace School.Core.Diary.Order;

/// <summary>One run of the dynamic program of <see cref="OrderProgram"/>.</summary>
/// <remarks>
/// Labels stand in one array in order of being made, so those of k visited stops stand before those of k + 1 and a state is
/// complete before any of its labels is carried on. Those of one state are linked in order of cost. Buffers are borrowed from the pool.
/// </remarks>
internal sealed class OrderSearch : IDisposable
{
    /// <summary>More than any day costs: some drive in it is forbidden.</summary>
    private const int Hopeless = OrderBounds.Forbidden / 2;

    private const int None = -1;
    private const int Outdone = int.MaxValue;

    private readonly OrderProblem problem;
    private readonly int count;
    private readonly int size;
    private readonly int all;

    private readonly OrderReach reach;
    private readonly OrderLimits limits;
    private readonly OrderBounds bounds;

    private Label[] labels = ArrayPool<Label>.Shared.Rent(1 << 10);
    private int made;
    private State[] states = [];
    private int statesUsed;
    private int lastState;
    private int best = None;
    private bool cut;

    public OrderSearch(OrderProblem problem, OrderReach reach, OrderLimits limits)
    {
        (this.problem, this.reach, this.limits) = (problem, reach, limits);
        count = problem.Stops.Count;
        size = count + 1;
        all = (1 << count) - 1;
        bounds = new(reach.Drives, count);
        SetStates(1 << 11);
    }

    /// <summary>Looks quickly where windows are so tight that they leave little; false when they leave more.</summary>
    /// <param name="most">The most minutes of driving.</param>
    // Bounds, which grow with the cube of the stops, would take longer.
    public bool RunTight(int most) => TryWithin(Budget(most), count * count * count);

    /// <summary>Searches for an order that drives no more than so many minutes; false when it was given up.</summary>
    public bool Run(int driving)
    {
        bounds.Improve();
        var most = Budget(driving) - bounds.PriceOfAll;
        long floor = bounds.ToGo[count * size + count];
        for (long slack = OrderBounds.Scale / 2; floor + slack < most; slack *= 2)
        {
            if (!TryWithin((int)(floor + slack), limits.MostLabels))
            {
                return false;
            }

            if (best != None || !cut)
            {
                return true;
            }
        }
        return TryWithin(most, limits.MostLabels);
    }

    private static int Budget(int driving) => driving == int.MaxValue ? OrderBounds.Forbidden : driving * OrderBounds.Scale;

    /// <summary>Looks at every order within the budget; false when there were too many labels.</summary>
    private bool TryWithin(int budget, int most)
    {
        (made, statesUsed, best, cut) = (0, 0, None, false);
        states.AsSpan(0, lastState + 1).Clear();
        CarryOn(new() { Last = count, Start = problem.LeavesAt, Parent = None }, None, budget);
        for (var at = 0; at < made; at++)
        {
            if (made > most || ((at & 0xFFF) == 0 && limits.GiveUp.IsCancellationRequested))
            {
                return false;
            }

            var label = labels[at];
            if (label.Cost == Outdone)
            {
                continue;
            }

            if (label.Visited == all)
            {
                Finish(at, budget);
            }
            else
            {
                CarryOn(label, at, budget);
            }
        }
        return true;
    }

    /// <summary>The order found; null when none is cheaper than the one known.</summary>
    public int[]? Best()
    {
        if (best == None)
        {
            return null;
        }

        var order = new int[count];
        for (int at = best, i = count - 1; at != None; at = labels[at].Parent)
        {
            order[i--] = labels[at].Last;
        }

        return order;
    }

    public void Dispose()
    {
        ArrayPool<Label>.Shared.Return(labels);
        ArrayPool<State>.Shared.Return(states);
    }

    private void CarryOn(in Label label, int at, int budget)
    {
        var costs = bounds.Costs;
        var toGo = bounds.ToGo.AsSpan((count - 1 - BitOperations.PopCount((uint)label.Visited)) * size, size);
        for (var open = all & ~label.Visited; open != 0; open &= open - 1)
        {
            var stop = BitOperations.TrailingZeroCount(open);
            var cost = label.Cost + costs[label.Last * size + stop];
            if ((reach.Before[stop] & ~label.Visited) != 0 || cost > Hopeless || toGo[stop] > Hopeless)
            {
                continue;
            }

            if (cost > budget - toGo[stop])
            {
                cut = true;
                continue;
            }
            var start = reach.StartAt(stop, label.Start + reach.Legs[label.Last * size + stop]);
            var visited = label.Visited | (1 << stop);
            if (start != OrderReach.Never && reach.CanReachTheRest(stop, visited, start))
            {
                Keep(new() { Visited = visited, Last = stop, Cost = cost, Start = start, Parent = at });
            }
        }
    }

    private void Finish(int at, int budget)
    {
        ref var label = ref labels[at];
        label.Cost += bounds.Costs[label.Last * size + count];
        label.Start += reach.Legs[label.Last * size + count];
        if (label.Start > problem.HomeBy || label.Cost > budget)
        {
            return;
        }

        if (best == None || (label.Cost, label.Start).CompareTo((labels[best].Cost, labels[best].Start)) < 0)
        {
            best = at;
        }
    }

    /// <summary>Links a label into its state unless another is as cheap and as early; drops those that it outdoes.</summary>
    private void Keep(in Label label)
    {
        ref var first = ref FirstOf(label.Visited << 5 | label.Last);
        var (previous, at) = (None, first);
        while (at != None && labels[at].Cost <= label.Cost)
        {
            if (labels[at].Start <= label.Start)
            {
                return;
            }

            (previous, at) = (at, labels[at].Next);
        }
        for (; at != None && labels[at].Start >= label.Start; at = labels[at].Next)
        {
            labels[at].Cost = Outdone;
        }

        if (made == labels.Length)
        {
            Grow();
        }

        labels[made] = label with { Next = at };
        if (previous == None)
        {
            first = made;
        }
        else
        {
            labels[previous].Next = made;
        }

        made++;
    }

    private void Grow()
    {
        var larger = ArrayPool<Label>.Shared.Rent(made * 2);
        labels.AsSpan(0, made).CopyTo(larger);
        ArrayPool<Label>.Shared.Return(labels);
        labels = larger;
    }

    /// <summary>The first label of a state, in a table of open addressing that is never more than half full.</summary>
    private ref int FirstOf(int key)
    {
        if (statesUsed * 2 > lastState)
        {
            GrowStates();
        }

        ref var state = ref Find(key);
        if (state.Key == 0)
        {
            state = new(key, None);
            statesUsed++;
        }
        return ref state.First;
    }

    private ref State Find(int key)
    {
        // Fibonacci hashing spreads neighbouring sets.
        var at = (int)(((uint)key * 2654435769u) >> 7) & lastState;
        while (states[at].Key != key && states[at].Key != 0)
        {
            at = (at + 1) & lastState;
        }

        return ref states[at];
    }

    private void GrowStates()
    {
        var old = states;
        var length = lastState + 1;
        SetStates(length * 2);
        foreach (var state in old.AsSpan(0, length))
        {
            if (state.Key != 0)
            {
                Find(state.Key) = state;
            }
        }
        ArrayPool<State>.Shared.Return(old);
    }

    private void SetStates(int length)
    {
        states = ArrayPool<State>.Shared.Rent(length);
        states.AsSpan(0, length).Clear();
        lastState = length - 1;
    }

    private struct Label
    {
        public int Visited;
        public int Last;
        public int Cost;
        public int Start;
        public int Parent;
        public int Next;
    }

    private struct State(int key, int first)
    {
        public int Key = key;
        public int First = first;
    }
}
