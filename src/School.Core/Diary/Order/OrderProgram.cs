namespace School.Core.Diary.Order;

/// <summary>Puts the stops of one instructor's day in the order that drives least.</summary>
/// <remarks>
/// <para>
/// Every stop is visited once, started within one of its windows, and served without a break; waiting is allowed and costs
/// nothing. Exact, by forward dynamic programming over the set of visited stops and the last of them (M. Held and R. M. Karp, "A
/// dynamic programming approach to sequencing problems", Journal of SIAM 10, 1962), with several labels per state because the
/// cheapest way there need not be the earliest. Windows give precedences and stops that are out of reach, which prune labels
/// (Y. Dumas, J. Desrosiers, E. Gélinas and M. M. Solomon, "An optimal algorithm for the traveling salesman problem with time
/// windows", Operations Research 43, 1995). When windows are wide, orders that cannot be among the best are dropped by a
/// bound on what is still to be driven. Cited from memory; <c>docs/diary-engine.md</c> tells more.
/// </para>
/// <para>
/// With n stops there are at most n · 2ⁿ⁻¹ states; each keeps as many labels as there are trade-offs between driving and time.
/// </para>
/// </remarks>
public static class OrderProgram
{
    /// <summary>The most stops taken. Up to 14 are always solved to proof with the usual limits.</summary>
    public const int MostStops = 24;

    /// <summary>The order with the least driving; among equals the one that is over first.</summary>
    /// <param name="problem">The day.</param>
    /// <param name="today">An order that stands already: when nothing drives less it is the answer, provided it keeps the
    /// windows. Null for none.</param>
    /// <param name="limits">Where the search for a proof ends; an order found before that is the answer, not proved.</param>
    /// <exception cref="ArgumentException"><paramref name="today"/> does not hold every stop once.</exception>
    public static OrderResult Solve(OrderProblem problem, IReadOnlyList<int>? today = null, OrderLimits? limits = null)
    {
        ArgumentNullException.ThrowIfNull(problem);
        var known = today is null ? null : Follow(problem, today);
        if (problem.Stops.Count == 0)
        {
            return new(Follow(problem, []), true);
        }

        var reach = new OrderReach(problem);
        if (!reach.IsPossible)
        {
            return new(known, true);
        }

        limits ??= new();
        using var search = new OrderSearch(problem, reach, limits);
        // Nothing that drives as much as what stands is of use.
        var most = known is null ? int.MaxValue : known.TravelMinutes - 1;
        if (search.RunTight(most))
        {
            return Answer(known, proved: true);
        }

        var beam = new OrderBeam(problem, reach, limits.MostLabels, limits.GiveUp);
        var found = beam.Find();
        if (beam.IsImpossible)
        {
            return new(known, true);
        }

        if (found is not null && found.TravelMinutes <= most)
        {
            // The search may find one that drives as much and is over earlier.
            (known, most) = (found, found.TravelMinutes);
        }

        return Answer(known, search.Run(most));

        OrderResult Answer(DayOrder? otherwise, bool proved) => new(search.Best() is { } order ? Follow(problem, order) : otherwise, proved);
    }

    /// <summary>An order as it would be driven: every stop as early as possible; null when a window or the end of the day is missed.</summary>
    /// <exception cref="ArgumentException">The order does not hold every stop once.</exception>
    public static DayOrder? Follow(OrderProblem problem, IReadOnlyList<int> order)
    {
        ArgumentNullException.ThrowIfNull(problem);
        ArgumentNullException.ThrowIfNull(order);
        if (!order.Order().SequenceEqual(Enumerable.Range(0, problem.Stops.Count)))
        {
            throw new ArgumentException("The order must hold every stop once.", nameof(order));
        }

        var starts = new int[order.Count];
        var (at, free, driven) = (problem.Start, problem.LeavesAt, 0);
        for (var i = 0; i < order.Count; i++)
        {
            var drive = problem.Drive(at, order[i]);
            if (problem.StartAt(order[i], free + drive) is not { } start)
            {
                return null;
            }

            (at, starts[i], driven) = (order[i], start, driven + drive);
            free = start + problem.Stops[at].ServiceMinutes;
        }
        var home = problem.Drive(at, problem.Start);
        return free + home <= problem.HomeBy ? new([.. order], starts, driven + home, free + home) : null;
    }
}

/// <summary>Where the search for the best order gives up its proof. An order found by then is kept.</summary>
/// <param name="MostLabels">The most partial orders that are kept at a time, of about 40 bytes each; twice that while room is made.</param>
/// <param name="GiveUp">Cancelled when time is up, or nobody waits any more.</param>
public sealed record OrderLimits(int MostLabels = OrderLimits.UsualLabels, CancellationToken GiveUp = default)
{
    /// <summary>About 80 MB. 14 stops stay far below.</summary>
    public const int UsualLabels = 1 << 21;
}
