using NodaTime;

namespace School.Core.Cars;

/// <summary>A time for which an instructor needs a car.</summary>
/// <param name="Id">The need.</param>
/// <param name="InstructorId">Who needs it.</param>
/// <param name="During">When; half-open, with both ends.</param>
/// <param name="Gearbox">The gearbox of the pupils.</param>
/// <param name="NeedsDualControls">Whether one of the pupils needs dual controls.</param>
/// <param name="Has">The car that the instructor has for it so far; null for none.</param>
public sealed record CarNeed(Guid Id, Guid InstructorId, Interval During, Gearbox Gearbox, bool NeedsDualControls, Guid? Has);

/// <summary>Who needs a car when, and which cars there are.</summary>
/// <param name="Zone">The school's zone: papers run by local dates.</param>
/// <param name="Cars">The cars that may be given.</param>
/// <param name="Needs">The needs.</param>
public sealed record CarAllocationProblem(DateTimeZone Zone, IReadOnlyList<CarFacts> Cars, IReadOnlyList<CarNeed> Needs);

/// <summary>What an allocation costs, compared from left to right.</summary>
/// <param name="Unmet">Needs without a car.</param>
/// <param name="Changed">Needs met by another car than the instructor has so far.</param>
/// <param name="CarsUsed">Different cars in use.</param>
public readonly record struct CarAllocationCost(int Unmet, int Changed, int CarsUsed);

/// <summary>A time at which fewer cars are to be had than are needed.</summary>
/// <param name="During">When.</param>
/// <param name="Gearbox">The gearbox.</param>
/// <param name="DualControls">Whether those with dual controls are what is missing.</param>
/// <param name="Needed">How many are needed at once.</param>
/// <param name="InDate">How many are on the road and in date throughout one of the needs.</param>
/// <param name="NeedIds">The needs.</param>
public sealed record CarShortage(
    Interval During, Gearbox Gearbox, bool DualControls, int Needed, int InDate, IReadOnlyList<Guid> NeedIds);

/// <summary>Which car goes to which need.</summary>
/// <param name="Given">A car for each need that is met.</param>
/// <param name="Cost">What it costs.</param>
/// <param name="IsProven">Whether nothing can be better.</param>
/// <param name="Missing">What keeps needs from being met, in order of time.</param>
public sealed record CarsGiven(
    IReadOnlyDictionary<Guid, Guid> Given, CarAllocationCost Cost, bool IsProven, IReadOnlyList<CarShortage> Missing);

/// <summary>Gives cars to needs: as many needs as can be met, as few changes of car as can be, as few cars as can be.</summary>
/// <remarks>
/// A car suits a need when it has the gearbox, dual controls if needed, papers in date on every local date of the need, and is on the road
/// throughout; of needs that overlap it serves one. Gearboxes do not depend on each other. For each,
/// colouring the intervals in order of start is tried first: it needs no more cars than the most that overlap at once, which no
/// allocation can undercut, so for cars alike it is proven by counting (interval partitioning; Kleinberg and Tardos, Algorithm Design,
/// 4.1, from memory). Where the count does not prove it, <see cref="CarSearch"/> decides exactly.
/// </remarks>
public static class CarAllocation
{
    /// <summary>The best allocation.</summary>
    public static CarsGiven Propose(CarAllocationProblem problem)
    {
        ArgumentNullException.ThrowIfNull(problem);
        var given = new Dictionary<Guid, Guid>();
        var missing = new List<CarShortage>();
        var (cost, proven) = (default(CarAllocationCost), true);
        foreach (var needs in problem.Needs.GroupBy(need => need.Gearbox).OrderBy(group => group.Key))
        {
            var fleet = new CarFleet(
                [.. needs.OrderBy(need => need.During.Start).ThenBy(need => need.During.End).ThenBy(need => need.Id)],
                [.. problem.Cars.Where(car => car.Gearbox == needs.Key).OrderBy(car => car.DualControls).ThenBy(car => car.Id)],
                problem.Zone);
            var best = CarSearch.Solve(fleet);
            cost = new(cost.Unmet + best.Cost.Unmet, cost.Changed + best.Cost.Changed, cost.CarsUsed + best.Cost.CarsUsed);
            proven &= best.IsProven;
            for (var need = 0; need < best.Given.Length; need++)
            {
                if (best.Given[need] >= 0)
                {
                    given[fleet.Needs[need].Id] = fleet.Cars[best.Given[need]].Id;
                }
            }
            if (best.Cost.Unmet > 0)
            {
                missing.AddRange(CarShortages.Of(fleet));
            }
        }
        return new(given, cost, proven, [.. missing.OrderBy(shortage => shortage.During.Start).ThenBy(shortage => shortage.Gearbox)]);
    }
}

/// <summary>Where the needs at one moment outnumber the cars that suit any of them.</summary>
internal static class CarShortages
{
    public static IEnumerable<CarShortage> Of(CarFleet fleet)
    {
        var all = Find(fleet, dual: false);
        return all.Count > 0 && fleet.Needs.All(need => !need.NeedsDualControls) ? all
            : [.. all, .. Find(fleet, dual: true).Where(dual => !all.Exists(shortage => shortage.During == dual.During && shortage.Needed == dual.Needed))];
    }

    private static List<CarShortage> Find(CarFleet fleet, bool dual)
    {
        var found = new List<CarShortage>();
        var needs = Enumerable.Range(0, fleet.Needs.Count).Where(need => !dual || fleet.Needs[need].NeedsDualControls).ToList();
        var moments = needs.SelectMany(need => new[] { fleet.Needs[need].During.Start, fleet.Needs[need].During.End }).Distinct().Order().ToList();
        for (var i = 0; i + 1 < moments.Count; i++)
        {
            var active = needs.Where(need => fleet.Needs[need].During.Contains(moments[i])).ToList();
            var suitable = Enumerable.Range(0, fleet.Cars.Count).Count(car => active.Exists(need => fleet.Suits(need, car)));
            if (active.Count <= suitable)
            {
                continue;
            }

            var ids = active.ConvertAll(need => fleet.Needs[need].Id);
            var gearbox = fleet.Needs[active[0]].Gearbox;
            if (found.Count > 0 && found[^1] is var last && last.During.End == moments[i] && last.Needed == active.Count && last.InDate == suitable)
            {
                found[^1] = last with { During = new(last.During.Start, moments[i + 1]), NeedIds = [.. last.NeedIds.Union(ids)] };
            }
            else
            {
                found.Add(new(new(moments[i], moments[i + 1]), gearbox, dual, active.Count, suitable, ids));
            }
        }
        return found;
    }
}
