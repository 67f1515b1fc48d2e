using Google.OrTools.Sat;
using NodaTime;
using School.Core.Cars;

namespace School.Core.Tests.Cars;

/// <summary>Car allocation as one plain model for CP-SAT. Source: the documentation of CarAllocation.</summary>
internal static class CarAllocationModel
{
    public static (CarAllocationCost Cost, bool Proven) Solve(CarAllocationProblem problem, int workers)
    {
        var model = new CpModel();
        var (unmet, changed) = (new List<LinearExpr>(), new List<LinearExpr>());
        var used = problem.Cars.Select(_ => model.NewBoolVar("")).ToList();
        var serves = new Dictionary<(int Need, int Car), BoolVar>();
        for (var n = 0; n < problem.Needs.Count; n++)
        {
            var need = problem.Needs[n];
            var choices = new List<BoolVar>();
            for (var c = 0; c < problem.Cars.Count; c++)
            {
                var car = problem.Cars[c];
                if (!Suits(need, car, problem.Zone))
                {
                    continue;
                }

                var serving = serves[(n, c)] = model.NewBoolVar("");
                choices.Add(serving);
                model.AddImplication(serving, used[c]);
                if (need.Has is not null && need.Has != car.Id)
                {
                    changed.Add(serving);
                }
            }
            var none = model.NewBoolVar("");
            unmet.Add(none);
            model.AddExactlyOne(choices.Append(none));
        }
        for (var c = 0; c < problem.Cars.Count; c++)
        {
            var times = problem.Needs.Select((need, n) => (need, n)).Where(pair => serves.ContainsKey((pair.n, c))).Select(pair => model.NewOptionalFixedSizeIntervalVar(
                model.NewConstant(Minute(pair.need.During.Start)), Minute(pair.need.During.End) - Minute(pair.need.During.Start), serves[(pair.n, c)], ""));
            model.AddNoOverlap(times);
        }
        long most = problem.Needs.Count + problem.Cars.Count + 1;
        model.Minimize(LinearExpr.Sum(unmet) * most * most + LinearExpr.Sum(changed) * most + LinearExpr.Sum(used));
        var solver = new CpSolver { StringParameters = $"num_search_workers:{workers},max_time_in_seconds:60,random_seed:1" };
        var status = solver.Solve(model);
        return (
            new((int)unmet.Sum(solver.Value), (int)changed.Sum(solver.Value), (int)used.Sum(car => solver.Value(car))),
            status == CpSolverStatus.Optimal);
    }

    private static bool Suits(CarNeed need, CarFacts car, DateTimeZone zone)
    {
        var (first, last) = (need.During.Start.InZone(zone).Date, (need.During.End - Duration.FromSeconds(1)).InZone(zone).Date);
        var dates = Enumerable.Range(0, Period.DaysBetween(first, last) + 1).Select(first.PlusDays);
        return car.Gearbox == need.Gearbox && (car.DualControls || !need.NeedsDualControls) && dates.All(date => car.WhyNotOn(date) is null)
            && !car.OffRoad.Any(off => off.Start < need.During.End && need.During.Start < off.End);
    }

    private static long Minute(Instant instant) => instant.ToUnixTimeSeconds() / 60;
}
