namespace School.Core.Cars;

/// <summary>The least cost of a fleet, exactly.</summary>
/// <remarks>
/// The terms of the cost are settled one after the other, each by a depth-first search over the needs in order of start with an allowance
/// that grows from what no allocation can undercut (iterative deepening; Korf 1985, from memory). Parts of the diary that do not meet in
/// time have allowances of their own; only the count of cars in use spans them. What later needs can notice of the earlier
/// ones is until when each car is taken and which are in use; such a state is searched once for each allowance. Cars that no need
/// tells apart are sorted in it, so that their names do not multiply the states. After <see cref="MostSteps"/> the best so far is returned
/// without proof.
/// </remarks>
internal sealed class CarSearch
{
    public const int MostSteps = 1_000_000;

    // More than any allowance.
    private const int Any = ushort.MaxValue;

    private readonly CarFleet fleet;
    private readonly List<(int From, int To)> parts;
    private readonly int[] partOf;
    private readonly (int Unmet, int Changed)[] allowed;
    private readonly int[] end;
    private readonly int[] begun;
    private readonly int[] resumes;
    private readonly int[] toKeep;
    private readonly int[,] keptAtMost;
    private readonly int[] unmetAtLeast;
    private readonly int[] kind;
    private readonly int[] given;
    private readonly int[] until;
    private readonly bool[] used;
    private readonly HashSet<string> failed = [];
    private int last;
    private bool countsCars;
    private int steps;

    private CarSearch(CarFleet fleet)
    {
        this.fleet = fleet;
        var (needs, cars) = (fleet.Needs, fleet.Cars.Count);
        parts = fleet.Parts();
        partOf = [.. parts.SelectMany((part, index) => Enumerable.Repeat(index, part.To - part.From)), parts.Count];
        allowed = new (int, int)[parts.Count + 1];
        var ends = needs.Select(need => need.During.End).Distinct().Order().ToList();
        end = [.. needs.Select(need => ends.BinarySearch(need.During.End) + 1)];
        // How many of the ends lie at or before the start of each need: a car taken until one of those is free.
        begun = [.. needs.Select(need => ends.Count(moment => moment <= need.During.Start))];
        // The first need for which a car taken until each of the ends is free again.
        resumes = [0, .. ends.Select(fleet.FirstFrom)];
        toKeep = new int[needs.Count + 1];
        for (var need = needs.Count - 1; need >= 0; need--)
        {
            toKeep[need] = toKeep[need + 1] + (needs[need].Has is null ? 0 : 1);
        }

        keptAtMost = fleet.KeptAtMost();
        unmetAtLeast = [.. parts.SelectMany(part => Enumerable.Range(part.From, part.To - part.From).Select(need => fleet.UnmetAtLeast(need, part.To))), 0];
        (given, until, used, kind) = (new int[needs.Count], new int[cars], new bool[cars], Kinds(fleet));
    }

    /// <summary>A car for each need, below 0 for none; what that costs, and whether it is proven the least.</summary>
    public static (int[] Given, CarAllocationCost Cost, bool IsProven) Solve(CarFleet fleet)
    {
        var coloured = fleet.Colour();
        var cost = fleet.CostOf(coloured, 0, coloured.Length);
        if (cost is { Unmet: 0, Changed: 0 } && cost.CarsUsed == fleet.MostAtOnce(0, coloured.Length))
        {
            return (coloured, cost, true);
        }

        return new CarSearch(fleet).Improve(coloured);
    }

    private (int[] Given, CarAllocationCost Cost, bool IsProven) Improve(int[] best)
    {
        var fewest = 0;
        foreach (var (from, to) in parts)
        {
            var part = fleet.CostOf(best, from, to);
            for (var unmet = unmetAtLeast[from]; unmet < part.Unmet && Try(from, to, unmet, Any, Any, best); unmet++)
            {
                part = fleet.CostOf(best, from, to);
            }

            part = fleet.CostOf(best, from, to);
            until.AsSpan().Clear();
            for (var changed = Math.Max(0, NotKeptAtLeast(from) - part.Unmet); changed < part.Changed && Try(from, to, part.Unmet, changed, Any, best); changed++)
            {
                part = fleet.CostOf(best, from, to);
            }

            part = fleet.CostOf(best, from, to);
            allowed[partOf[from]] = (part.Unmet, part.Changed);
            fewest = Math.Max(fewest, fleet.MostAtOnce(from, to) - part.Unmet);
        }
        var cost = fleet.CostOf(best, 0, best.Length);
        for (var cars = fewest; cars < cost.CarsUsed && Try(0, best.Length, allowed[0].Unmet, allowed[0].Changed, cars, best); cars++)
        {
            cost = fleet.CostOf(best, 0, best.Length);
        }

        return (best, fleet.CostOf(best, 0, best.Length), steps <= MostSteps);
    }

    /// <summary>Looks for an allocation within an allowance; false when there is no time left to look on.</summary>
    private bool Try(int from, int to, int unmet, int changed, int cars, int[] best)
    {
        failed.Clear();
        until.AsSpan().Clear();
        used.AsSpan().Clear();
        (last, countsCars) = (to, cars != Any);
        if (Search(from, unmet, changed, cars))
        {
            given.AsSpan(from..to).CopyTo(best.AsSpan(from..to));
        }

        return steps <= MostSteps;
    }

    private bool Search(int need, int unmet, int changed, int cars)
    {
        if (need == last)
        {
            return true;
        }

        if (unmet < unmetAtLeast[need] || unmet + changed < NotKeptAtLeast(need) || ++steps > MostSteps)
        {
            return false;
        }

        var state = State(need, unmet, changed, cars);
        if (failed.Contains(state))
        {
            return false;
        }
        // First the car that is there, then those in use, then a new one, then none.
        for (var rank = 0; rank < 3; rank++)
        {
            for (var car = 0; car < until.Length; car++)
            {
                if (fleet.Suits(need, car) && until[car] <= begun[need] && Rank(need, car) == rank && !IsLikeOneBefore(need, car)
                    && Give(need, car, unmet, changed, cars))
                {
                    return true;
                }
            }
        }
        given[need] = -1;
        if (unmet > 0 && Next(need, unmet - 1, changed, cars))
        {
            return true;
        }

        failed.Add(state);
        return false;
    }

    private bool Give(int need, int car, int unmet, int changed, int cars)
    {
        var change = fleet.IsChange(need, car) ? 1 : 0;
        var (wasUntil, wasUsed) = (until[car], used[car]);
        if (change > changed || (!wasUsed && cars == 0))
        {
            return false;
        }

        (given[need], until[car], used[car]) = (car, end[need], true);
        if (Next(need, unmet, changed == Any ? Any : changed - change, cars == Any || wasUsed ? cars : cars - 1))
        {
            return true;
        }

        (until[car], used[car]) = (wasUntil, wasUsed);
        return false;
    }

    /// <summary>Goes on, with a new allowance where a new part begins.</summary>
    private bool Next(int need, int unmet, int changed, int cars) => need + 1 < last && partOf[need + 1] != partOf[need]
        ? Search(need + 1, allowed[partOf[need + 1]].Unmet, allowed[partOf[need + 1]].Changed, cars)
        : Search(need + 1, unmet, changed, cars);

    /// <summary>Of the needs of the part from one on, how many do not keep their car at least, as the cars are taken now.</summary>
    private int NotKeptAtLeast(int need)
    {
        var to = parts[partOf[need]].To;
        var count = toKeep[need] - toKeep[to];
        for (var car = 0; car < until.Length; car++)
        {
            count -= keptAtMost[car, Math.Max(need, resumes[until[car]])] - keptAtMost[car, to];
        }

        return count;
    }

    private int Rank(int need, int car) => !fleet.IsChange(need, car) && fleet.Needs[need].Has is not null ? 0 : used[car] ? 1 : 2;

    private bool IsLikeOneBefore(int need, int car)
    {
        for (var other = car - 1; other >= 0 && kind[other] == kind[car]; other--)
        {
            if (until[other] <= begun[need] && used[other] == used[car])
            {
                return true;
            }
        }
        return false;
    }

    private string State(int need, int unmet, int changed, int cars) => string.Create(until.Length + 4, (this, need, unmet, changed, cars), static (chars, of) =>
    {
        var search = of.Item1;
        for (var car = 0; car < search.until.Length; car++)
        {
            var taken = search.until[car] > search.begun[of.need] ? search.until[car] : 0;
            chars[car] = (char)((taken << 1) | (search.countsCars && search.used[car] ? 1 : 0));
        }
        for (var from = 0; from < search.until.Length;)
        {
            var to = from + 1;
            while (to < search.until.Length && search.kind[to] == search.kind[from])
            {
                to++;
            }

            if (to > from + 1)
            {
                chars[from..to].Sort();
            }

            from = to;
        }
        (chars[^4], chars[^3], chars[^2], chars[^1]) = ((char)of.need, (char)of.unmet, (char)of.changed, (char)of.cars);
    });

    /// <summary>A number for each car; neighbours that suit the same needs, and that nobody has, share it.</summary>
    private static int[] Kinds(CarFleet fleet)
    {
        var kinds = new int[fleet.Cars.Count];
        for (var car = 1; car < kinds.Length; car++)
        {
            var alike = !fleet.IsHad(car) && !fleet.IsHad(car - 1);
            for (var need = 0; alike && need < fleet.Needs.Count; need++)
            {
                alike = fleet.Suits(need, car) == fleet.Suits(need, car - 1);
            }

            kinds[car] = alike ? kinds[car - 1] : kinds[car - 1] + 1;
        }
        return kinds;
    }
}
