namespace School.Core.Diary.Order;

/// <summary>How much driving at least is still to come, by the number of stops still to visit and the stop one is at.</summary>
/// <remarks>
/// The bound lets a way visit a stop more than once, except straight back, but asks for the right number of visits (state-space
/// relaxation: N. Christofides, A. Mingozzi and P. Toth, Networks 11, 1981). A price on each visit, found by subgradient steps (M. Held,
/// P. Wolfe and H. P. Crowder, Mathematical Programming 6, 1974), makes visiting every stop once the cheapest way nearly. Both cited
/// from memory. Costs are whole numbers of 1/<see cref="Scale"/> minute, so nothing is rounded: along a way that visits every stop
/// once the prices cancel out.
/// </remarks>
internal sealed class OrderBounds
{
    public const int Scale = 64;
    public const int Forbidden = 500_000_000;

    private const int Rounds = 40;
    private const int End = -1;

    private readonly int count;
    private readonly int size;
    private readonly int[] drives;
    private readonly int[] prices;
    private readonly int[] first;
    private readonly int[] second;
    private readonly int[] successor;

    /// <summary>Takes the scaled drives, those that cannot be used at <see cref="Forbidden"/>.</summary>
    public OrderBounds(int[] drives, int count)
    {
        (this.drives, this.count, size) = (drives, count, count + 1);
        Costs = [.. drives];
        prices = new int[count];
        first = new int[size * size];
        second = new int[size * size];
        successor = new int[size * size];
    }

    /// <summary>The scaled drives less the price of the stop they lead to.</summary>
    public int[] Costs { get; }

    /// <summary>What all prices come to: the true scaled driving of a whole day is its <see cref="Costs"/> and this.</summary>
    public int PriceOfAll => prices.Sum();

    /// <summary>At least this much of <see cref="Costs"/> is to come: index number of stops to visit × (n + 1) + stop.</summary>
    public int[] ToGo => first;

    /// <summary>Finds good prices.</summary>
    public void Improve()
    {
        var (best, bestPrices, visits) = (int.MinValue, new int[count], new int[count]);
        var pace = 1.0;
        for (var round = 0; round < Rounds; round++)
        {
            Reckon();
            var bound = first[count * size + count] + PriceOfAll;
            if (bound > best)
            {
                best = bound;
                prices.CopyTo(bestPrices, 0);
            }
            else
            {
                pace *= 0.85;
            }
            CountVisits(visits);
            var wrong = visits.Sum(visit => (visit - 1) * (visit - 1));
            if (wrong == 0 || bound >= Forbidden)
            {
                break;
            }

            var step = pace * 0.1 * bound / wrong;
            for (var i = 0; i < count; i++)
            {
                prices[i] += (int)(step * (1 - visits[i]));
            }
        }
        bestPrices.CopyTo(prices, 0);
        Reckon();
    }

    private void Reckon()
    {
        for (var i = 0; i < size; i++)
        {
            for (var j = 0; j < count; j++)
            {
                Costs[i * size + j] = drives[i * size + j] >= Forbidden ? Forbidden : drives[i * size + j] - prices[j];
            }

            (first[i], second[i], successor[i]) = (drives[i * size + count], Forbidden, End);
        }
        for (var left = 1; left <= count; left++)
        {
            for (var i = 0; i < size; i++)
            {
                Extend(left, i);
            }
        }
    }

    private void Extend(int left, int from)
    {
        var (one, two, to) = (Forbidden, Forbidden, End);
        var shorter = (left - 1) * size;
        for (var j = 0; j < count; j++)
        {
            var cost = Costs[from * size + j] + Onward(shorter, j, from);
            if (cost < one)
            {
                (two, one, to) = (one, cost, j);
            }
            else if (cost < two)
            {
                two = cost;
            }
        }
        (first[left * size + from], second[left * size + from], successor[left * size + from]) = (one, two, to);
    }

    /// <summary>The cheapest way on from a stop that does not go straight back.</summary>
    private int Onward(int shorter, int stop, int from) =>
        successor[shorter + stop] == from ? second[shorter + stop] : first[shorter + stop];

    private void CountVisits(int[] visits)
    {
        Array.Clear(visits);
        var (before, at) = (End, count);
        for (var left = count; left > 0; left--)
        {
            var (least, to) = (int.MaxValue, End);
            for (var j = 0; j < count; j++)
            {
                var cost = Costs[at * size + j] + Onward((left - 1) * size, j, at);
                if (j != before && cost < least)
                {
                    (least, to) = (cost, j);
                }
            }
            visits[to]++;
            (before, at) = (at, to);
        }
    }
}
