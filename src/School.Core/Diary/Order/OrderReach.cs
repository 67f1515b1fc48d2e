using System.Numerics;
using School.Core.Diary.Slots;

namespace School.Core.Diary.Order;

/// <summary>What the windows of a day allow: which stop must come before which, and until when each can still be reached.</summary>
/// <remarks>Rows and columns are those of the travel times; the last row stands for the departure, the last column for the arrival.</remarks>
internal sealed class OrderReach
{
    /// <summary>No start: the windows of a stop are over.</summary>
    public const int Never = int.MaxValue;

    private readonly OrderProblem problem;

    /// <summary>The windows of all stops in a row, and where those of each stop begin.</summary>
    private readonly StartWindow[] windows;
    private readonly int[] firstWindow;
    private readonly int count;
    private readonly int size;

    public OrderReach(OrderProblem problem)
    {
        (this.problem, count, size) = (problem, problem.Stops.Count, problem.Stops.Count + 1);
        (Legs, Drives) = (new int[size * size], new int[size * size]);
        Before = new int[count];
        windows = [.. problem.Stops.SelectMany(stop => stop.Windows)];
        firstWindow = new int[count + 1];
        for (var i = 0; i < count; i++)
        {
            firstWindow[i + 1] = firstWindow[i] + problem.Stops[i].Windows.Count;
        }

        LastCalls = new (int, int)[count * count];
        for (var i = 0; i < size; i++)
        {
            for (var j = 0; j < size; j++)
            {
                Legs[i * size + j] = problem.Drive(i, j) + (i == count ? 0 : problem.Stops[i].ServiceMinutes);
            }
        }
        Span<int> shortest = stackalloc int[size * size], earliest = stackalloc int[size], latest = stackalloc int[size];
        ShortestWays(shortest);
        IsPossible = Narrow(shortest, earliest, latest) && OrderByWindows(shortest, earliest, latest);
    }

    /// <summary>False when it is plain already that no order keeps the windows.</summary>
    public bool IsPossible { get; }

    /// <summary>From start to start: service and drive.</summary>
    public int[] Legs { get; }

    /// <summary>The drives in units of the bounds; forbidden where the windows do not allow them.</summary>
    public int[] Drives { get; }

    /// <summary>The stops that must come before each, as bits.</summary>
    public int[] Before { get; }

    /// <summary>For each stop, n in a row, the others and the end in order of the start after which they are out of reach, and that start.</summary>
    public (int Bit, int LastCall)[] LastCalls { get; }

    /// <summary>The first allowed start of a stop at or after a minute, or <see cref="Never"/>.</summary>
    public int StartAt(int stop, int minute)
    {
        for (var i = firstWindow[stop]; i < firstWindow[stop + 1]; i++)
        {
            var start = minute <= windows[i].From ? windows[i].From : problem.OnGrid(minute);
            if (start <= windows[i].To)
            {
                return start;
            }
        }
        return Never;
    }

    /// <summary>Whether, having started at a stop, none of those not visited is out of reach for sure.</summary>
    public bool CanReachTheRest(int stop, int visited, int start)
    {
        var calls = LastCalls.AsSpan(stop * count, count);
        for (var i = 0; i < calls.Length && calls[i].LastCall < start; i++)
        {
            if ((calls[i].Bit & visited) == 0)
            {
                return false;
            }
        }
        return true;
    }

    /// <summary>How many minutes later at least one could start at a stop until one of those not visited is out of reach.</summary>
    public int Spare(int stop, int visited, int start)
    {
        foreach (var (bit, lastCall) in LastCalls.AsSpan(stop * count, count))
        {
            if ((bit & visited) == 0)
            {
                return lastCall - start;
            }
        }
        return 0;
    }

    private void ShortestWays(Span<int> shortest)
    {
        Legs.CopyTo(shortest);
        for (var k = 0; k < count; k++)
        {
            for (var i = 0; i < size; i++)
            {
                for (var j = 0; j < size; j++)
                {
                    shortest[i * size + j] = Math.Min(shortest[i * size + j], shortest[i * size + k] + shortest[k * size + j]);
                }
            }
        }
    }

    /// <summary>The first and last start that each stop can have; false when one has none.</summary>
    private bool Narrow(Span<int> shortest, Span<int> earliest, Span<int> latest)
    {
        (earliest[count], latest[count]) = (problem.LeavesAt, problem.HomeBy);
        for (var i = 0; i < count; i++)
        {
            if (problem.StartAt(i, problem.LeavesAt + shortest[count * size + i]) is not { } first)
            {
                return false;
            }

            earliest[i] = first;
            latest[i] = Math.Min(problem.Stops[i].Windows[^1].To, problem.HomeBy - shortest[i * size + count]);
            if (first > latest[i])
            {
                return false;
            }
        }
        return true;
    }

    private bool OrderByWindows(Span<int> shortest, Span<int> earliest, Span<int> latest)
    {
        for (var i = 0; i < size; i++)
        {
            for (var j = 0; j < size; j++)
            {
                var possible = i != j && earliest[i] + Legs[i * size + j] <= latest[j];
                Drives[i * size + j] = possible ? problem.Drive(i, j) * OrderBounds.Scale : OrderBounds.Forbidden;
            }
        }
        for (var i = 0; i < count; i++)
        {
            var calls = LastCalls.AsSpan(i * count, count);
            var next = 0;
            for (var j = 0; j < size; j++)
            {
                if (j == i)
                {
                    continue;
                }

                calls[next++] = (1 << j, latest[j] - shortest[i * size + j]);
                if (j < count && earliest[i] + shortest[i * size + j] > latest[j])
                {
                    Before[i] |= 1 << j;
                }
            }
            calls.Sort((one, other) => one.LastCall.CompareTo(other.LastCall));
        }
        return !IsCircular();
    }

    private bool IsCircular()
    {
        for (var i = 0; i < count; i++)
        {
            for (var others = Before[i]; others != 0; others &= others - 1)
            {
                if ((Before[BitOperations.TrailingZeroCount(others)] & (1 << i)) != 0)
                {
                    return true;
                }
            }
        }
        return false;
    }
}
