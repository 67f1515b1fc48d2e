using NodaTime;
using School.Core.Cars;

namespace School.Core.Tests.Cars;

public sealed class CarAllocationTests
{
    private static readonly DateTimeZone Zone = DateTimeZoneProviders.Tzdb["Europe/London"];

    // Interval partitioning: the least number of resources is the greatest depth (Kleinberg and Tardos, Algorithm Design, 4.1, from memory).
    [Fact]
    public void Cars_alike_in_use_are_as_many_as_the_needs_that_overlap_at_most()
    {
        for (var seed = 0; seed < 1000; seed++)
        {
            var problem = RandomFleet.Alike(seed, most: 60);
            var depth = problem.Needs.Max(need => problem.Needs.Count(other => other.During.Contains(need.During.Start)));
            var answer = CarAllocation.Propose(problem);
            Assert.Equal(new CarAllocationCost(0, 0, depth), answer.Cost);
            Assert.True(answer.IsProven);
            AssertKeepsTheRules(problem, answer);
        }
    }

    [Fact]
    public void An_allocation_of_mixed_cars_costs_what_the_plain_model_proves_to_be_the_least()
    {
        var unmet = 0;
        Parallel.For(0, 500, new ParallelOptions { MaxDegreeOfParallelism = 2 }, seed =>
        {
            var problem = seed % 2 == 0 ? RandomFleet.Mixed(seed, most: 24, cars: 8) : RandomFleet.School(seed, most: 60);
            var answer = CarAllocation.Propose(problem);
            var (cost, proven) = CarAllocationModel.Solve(problem, workers: 1);
            Assert.True(proven);
            Assert.True(cost == answer.Cost, $"Seed {seed}: {answer.Cost} instead of {cost}.");
            Assert.True(answer.IsProven);
            AssertKeepsTheRules(problem, answer);
            Interlocked.Add(ref unmet, cost.Unmet);
        });
        Assert.True(unmet > 100, $"Only {unmet} needs were not met.");
    }

    [Fact]
    public void What_is_missing_says_how_many_are_needed_and_how_many_are_in_date()
    {
        var inDate = Car(Gearbox.Automatic);
        var outOfDate = Car(Gearbox.Automatic) with { TaxExpires = new LocalDate(2026, 6, 8) };
        var needs = new[] { Need(9, 12), Need(10, 13) };
        var answer = CarAllocation.Propose(new(Zone, [inDate, outOfDate, Car(Gearbox.Manual)], needs));
        var missing = Assert.Single(answer.Missing);
        Assert.Equal((At(10), At(12), 2, 1), (missing.During.Start, missing.During.End, missing.Needed, missing.InDate));
        Assert.Equal(1, answer.Cost.Unmet);
        Assert.Equal(needs.Select(need => need.Id), missing.NeedIds);
    }

    [Fact]
    public void An_instructor_keeps_the_car_they_have_although_fewer_would_do()
    {
        var (one, other) = (Car(Gearbox.Automatic), Car(Gearbox.Automatic));
        var needs = new[] { Need(9, 10) with { Has = one.Id }, Need(11, 12) with { Has = other.Id } };
        var answer = CarAllocation.Propose(new(Zone, [one, other], needs));
        Assert.Equal(new CarAllocationCost(0, 0, 2), answer.Cost);
        Assert.True(answer.IsProven);
    }

    [Fact]
    public void A_car_without_dual_controls_goes_to_whoever_can_do_without()
    {
        var (dual, plain) = (Car(Gearbox.Automatic), Car(Gearbox.Automatic) with { DualControls = false });
        var needs = new[] { Need(9, 12), Need(10, 13) with { NeedsDualControls = true } };
        var answer = CarAllocation.Propose(new(Zone, [dual, plain], needs));
        Assert.Equal((plain.Id, dual.Id), (answer.Given[needs[0].Id], answer.Given[needs[1].Id]));
    }

    [Fact]
    public void No_needs_need_no_cars() => Assert.Equal(default, CarAllocation.Propose(new(Zone, [], [])).Cost);

    private static Instant At(int hour) => new LocalDateTime(2026, 6, 9, hour, 0).InZoneStrictly(Zone).ToInstant();

    private static CarNeed Need(int from, int to) => new(Guid.NewGuid(), Guid.NewGuid(), new(At(from), At(to)), Gearbox.Automatic, false, null);

    private static CarFacts Car(Gearbox gearbox) => new(Guid.NewGuid(), gearbox, true, new LocalDate(2025, 1, 1), null, null, null, null, []);

    private static void AssertKeepsTheRules(CarAllocationProblem problem, CarsGiven answer)
    {
        Assert.Equal(answer.Cost.Unmet, problem.Needs.Count - answer.Given.Count);
        Assert.True(answer.Cost.Unmet > 0 || answer.Missing.Count == 0);
        foreach (var need in problem.Needs.Where(need => answer.Given.ContainsKey(need.Id)))
        {
            var car = problem.Cars.Single(car => car.Id == answer.Given[need.Id]);
            Assert.Equal(need.Gearbox, car.Gearbox);
            Assert.True(car.DualControls || !need.NeedsDualControls);
            Assert.Null(car.WhyNotOn(need.During.Start.InZone(problem.Zone).Date));
            Assert.False(car.IsOffRoad(need.During));
            Assert.DoesNotContain(problem.Needs, other => other != need && answer.Given.GetValueOrDefault(other.Id) == car.Id
                && other.During.Start < need.During.End && need.During.Start < other.During.End);
        }
    }
}
