using Google.OrTools.Sat;
using Google.OrTools.Util;
using School.Core.Diary.Order;

namespace School.Core.Tests.Diary.Order;

/// <summary>The day program as constraints for the CP-SAT solver (Google OR-Tools): one circuit, one start time per stop.</summary>
internal static class OrderModel
{
    /// <summary>The proved minimum of driving minutes; null when it is proved that no order keeps the windows.</summary>
    /// <param name="day">The day.</param>
    /// <param name="hint">An order that was checked to keep the windows: a first solution and a bound for the solver.</param>
    public static int? Minimum(OrderProblem day, DayOrder? hint = null)
    {
        var (count, model) = (day.Stops.Count, new CpModel());
        var starts = day.Stops.Select((stop, i) => model.NewIntVarFromDomain(Domain.FromIntervals(Allowed(stop, day.GridMinutes)), $"start {i}")).ToArray();
        var circuit = model.AddCircuit();
        var driving = LinearExpr.NewBuilder();
        var next = hint is null ? null : Next(hint, count);
        for (var i = 0; i <= count; i++)
        {
            for (var j = 0; j <= count; j++)
            {
                if (i == j || !IsPossible(day, i, j))
                {
                    continue;
                }

                var arc = model.NewBoolVar($"{i} to {j}");
                circuit.AddArc(i, j, arc);
                driving.AddTerm(arc, day.Drive(i, j));
                if (next is not null)
                {
                    model.AddHint(arc, next[i] == j);
                }

                var leg = day.Drive(i, j) + (i < count ? day.Stops[i].ServiceMinutes : 0);
                if (i == count)
                {
                    model.Add(starts[j] >= day.LeavesAt + leg).OnlyEnforceIf(arc);
                }
                else if (j == count)
                {
                    model.Add(starts[i] + leg <= day.HomeBy).OnlyEnforceIf(arc);
                }
                else
                {
                    model.Add(starts[j] >= starts[i] + leg).OnlyEnforceIf(arc);
                }
            }
        }
        if (hint is not null)
        {
            for (var i = 0; i < count; i++)
            {
                model.AddHint(starts[hint.Stops[i]], hint.Starts[i]);
            }

            model.Add(driving <= hint.TravelMinutes);
        }
        model.Minimize(driving);
        var solver = new CpSolver { StringParameters = "num_workers:2" };
        return solver.Solve(model) switch
        {
            CpSolverStatus.Optimal => (int)solver.ObjectiveValue,
            CpSolverStatus.Infeasible => null,
            var status => throw new InvalidOperationException($"The solver ended with {status}."),
        };
    }

    private static int[] Next(DayOrder order, int count)
    {
        var next = new int[count + 1];
        var at = count;
        foreach (var stop in order.Stops.Append(count))
        {
            (next[at], at) = (stop, stop);
        }

        return next;
    }

    private static bool IsPossible(OrderProblem day, int i, int j)
    {
        var count = day.Stops.Count;
        if (i == count || j == count)
        {
            return count == 0 || i != j;
        }

        return day.Stops[i].Windows[0].From + day.Stops[i].ServiceMinutes + day.Drive(i, j) <= day.Stops[j].Windows[^1].To;
    }

    /// <summary>The minutes of the windows: the first of each and those on the grid.</summary>
    private static long[][] Allowed(OrderStop stop, int grid) =>
    [.. stop.Windows.SelectMany(window => grid == 1
        ? [[window.From, window.To]]
        : Enumerable.Range(window.From, window.To - window.From + 1)
            .Where(minute => minute == window.From || minute % grid == 0).Select(minute => new long[] { minute, minute }))];
}
