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
    /// <summary>The most stops taken. Up to 14 are always solved to proof.</summary>
    public const int MostStops = 24;

    /// <summary>The order with the least driving; among equals the one that is over first.</summary>
    /// <param name="problem">The day.</param>
    /// <param name="today">An order that stands already: when nothing drives less it is the answer, provided it keeps the
    /// windows. Null for none.</param>
    /// <exception cref="ArgumentException"><paramref name="today"/> does not hold every stop once.</exception>
    public static OrderResult Solve(OrderProblem problem, IReadOnlyList<int>? today = null)
    {
        ArgumentNullException.ThrowIfNull(problem);
        var known = today is null ? null : Follow(problem, today);
        if (problem.Stops.Count == 0)
        {
            return new(Follow(problem, []), true);
        }

        using var search = new OrderSearch(problem);
        var proved = search.Run(known?.TravelMinutes ?? int.MaxValue);
        return new(search.Best() is { } order ? Follow(problem, order) : known, proved);
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
