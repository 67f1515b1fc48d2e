using CsCheck;
using School.Core.Diary.Order;
using School.Core.Diary.Slots;

namespace School.Core.Tests.Diary.Order;

public sealed class OrderProgramTests
{
    private static readonly Gen<OrderProblem> AnyDay = Gen.Select(
        Gen.Int[0, int.MaxValue - 1], Gen.Int[0, 11], Gen.Int[0, 2].Select(i => new[] { 1, 3, 10 }[i]), Gen.Bool, OrderCases.Make);

    /// <summary>Checked against the CP-SAT solver of Google OR-Tools, which proves its optimum.</summary>
    [Theory]
    [InlineData(1, 168)]
    [InlineData(3, 168)]
    [InlineData(10, 164)]
    public void The_best_order_drives_no_more_than_the_solver_proves_possible(int hours, int days)
    {
        for (var seed = 0; seed < days; seed++)
        {
            var day = OrderCases.Make(hours * 1000 + seed, 7 + seed % 6, hours, plain: seed % 3 == 0);
            var found = OrderProgram.Solve(day);
            Assert.True(found.IsProved);
            AssertKeepsAll(day, found.Best!);
            Assert.Equal(OrderModel.Minimum(day, found.Best), found.Best!.TravelMinutes);
        }
    }

    [Fact]
    public void Where_the_solver_proves_that_no_order_fits_none_is_found()
    {
        var impossible = 0;
        for (var seed = 0; seed < 100; seed++)
        {
            var day = OrderCases.Make(seed, 7, 1, plain: false);
            var late = new OrderProblem(day.Stops, Drives(day), day.LeavesAt, day.HomeBy - 140 - seed, day.GridMinutes);
            var found = OrderProgram.Solve(late);
            Assert.Equal(OrderModel.Minimum(late), found.Best?.TravelMinutes);
            impossible += found.Best is null ? 1 : 0;
        }
        Assert.InRange(impossible, 10, 90);
    }

    /// <summary>Published optima of 25 instances with 20 stops.</summary>
    [Fact]
    public void The_instances_of_Dumas_and_others_are_solved_to_their_published_optimum()
    {
        if (Dumas.Folder() is not { } folder)
        {
            Assert.Skip("The reference instances are not there: put them in shared/data/tsptw beside the checkout, or name their folder in SCHOOL_REFERENCE_DATA.");
            return;
        }
        var instances = Dumas.Read(folder);
        Assert.Equal(25, instances.Count);
        Assert.All(instances, instance =>
        {
            var found = OrderProgram.Solve(instance.Day);
            Assert.True(found.IsProved);
            AssertKeepsAll(instance.Day, found.Best!);
            Assert.Equal(instance.Optimum, found.Best!.TravelMinutes);
        });
    }

    [Fact]
    public void The_order_is_never_worse_than_one_that_stands()
    {
        AnyDay.Sample(day =>
        {
            int[] stands = [.. Enumerable.Range(0, day.Stops.Count)];
            var today = OrderProgram.Follow(day, stands)!;
            var found = OrderProgram.Solve(day, stands);
            Assert.True(found.Best!.TravelMinutes <= today.TravelMinutes);
            if (found.Best.TravelMinutes == today.TravelMinutes)
            {
                Assert.Equal(stands, found.Best.Stops);
            }

            Assert.Equal(OrderProgram.Solve(day).Best!.TravelMinutes, found.Best.TravelMinutes);
        }, iter: 2000);
    }

    [Fact]
    public void Every_stop_is_visited_once_within_its_windows()
    {
        AnyDay.Sample(day => AssertKeepsAll(day, OrderProgram.Solve(day).Best!), iter: 2000);
    }

    [Fact]
    public void Of_two_orders_that_drive_the_same_the_one_that_is_over_first_wins()
    {
        // The second stop opens at 600 only; either way round is 30 minutes' driving.
        var day = new OrderProblem([new(500, 700, 60), new(600, 700, 60)], [0, 10, 10, 10, 0, 10, 10, 10, 0], 480);
        var best = OrderProgram.Solve(day).Best!;
        Assert.Equal([0, 1], best.Stops);
        Assert.Equal((30, 670), (best.TravelMinutes, best.EndsAt));
    }

    [Fact]
    public void It_may_wait_rather_than_drive()
    {
        // Going to the near stop first means waiting for an hour; going to the far one first means driving back.
        var day = new OrderProblem([new(600, 660, 30), new(540, 720, 30)], [0, 10, 15, 10, 0, 5, 5, 15, 0], 480);
        var best = OrderProgram.Solve(day).Best!;
        Assert.Equal([0, 1], best.Stops);
        Assert.Equal([600, 640], best.Starts);
    }

    [Fact]
    public void A_day_without_stops_is_the_drive_from_beginning_to_end()
    {
        var found = OrderProgram.Solve(new([], [25], 480));
        Assert.Equal((25, 505), (found.Best!.TravelMinutes, found.Best.EndsAt));
        Assert.Null(OrderProgram.Solve(new([], [25], 480, 500)).Best);
    }

    [Fact]
    public void A_stop_without_any_window_leaves_no_order()
    {
        Assert.Equal(new OrderResult(null, true), OrderProgram.Solve(new([new([], 60)], [0, 1, 1, 0], 480)));
    }

    [Fact]
    public void Starts_keep_the_grid_or_the_beginning_of_their_window()
    {
        var day = new OrderProblem([new(-20, 100, 30), new(53, 53, 10)], [0, 8, 0, 8, 0, 0, 7, 0, 0], 0, gridMinutes: 15);
        Assert.Equal([15, 53], OrderProgram.Follow(day, [0, 1])!.Starts);
        Assert.Equal(-15, new OrderProblem([new(-29, 0, 0)], [0, 0, 0, 0], -20, gridMinutes: 15).StartAt(0, -20));
    }

    [Fact]
    public void Fourteen_stops_at_any_time_are_solved_to_proof()
    {
        for (var seed = 0; seed < 30; seed++)
        {
            Assert.True(OrderProgram.Solve(OrderCases.Make(seed, 14, 3 + seed % 8, plain: seed % 2 == 0)).IsProved);
        }
    }

    // Each case is made from an order that keeps every window, so there is one.
    [Theory]
    [InlineData(19)]
    [InlineData(21)]
    [InlineData(24)]
    public void A_long_day_with_wide_windows_always_has_an_order_and_says_when_it_is_not_proved(int stops)
    {
        var unproved = 0;
        for (var seed = 0; seed < 6; seed++)
        {
            var day = OrderCases.Make(seed, stops, 4 + (3 * (seed % 3)), plain: seed % 2 == 0);
            var found = OrderProgram.Solve(day, limits: new(MostLabels: 1 << 13));
            AssertKeepsAll(day, found.Best!);
            Assert.True(found.Best!.TravelMinutes <= OrderProgram.Follow(day, [.. Enumerable.Range(0, stops)])!.TravelMinutes);
            unproved += found.IsProved ? 0 : 1;
        }

        Assert.True(unproved > 0, "Every one was proved, so nothing was tried.");
    }

    [Fact]
    public void Who_waits_no_longer_has_the_order_found_so_far()
    {
        using var enough = new CancellationTokenSource();
        var day = OrderCases.Make(3, 24, 10, plain: true);
        var whole = OrderProgram.Solve(day, limits: new(MostLabels: 1 << 17)).Best!;
        enough.Cancel();
        var found = OrderProgram.Solve(day, [.. Enumerable.Range(0, 24)], new(GiveUp: enough.Token));
        Assert.False(found.IsProved);
        AssertKeepsAll(day, found.Best!);
        Assert.True(found.Best!.TravelMinutes >= whole.TravelMinutes);
    }

    // Twelve stops whose windows leave few orders: what the beam alone finds, or proves not to be there, is what the program proves.
    [Fact]
    public void Where_the_search_may_keep_nothing_an_order_is_found_all_the_same_or_there_is_none()
    {
        var (none, some) = (0, 0);
        for (var seed = 0; seed < 300; seed++)
        {
            var day = OrderCases.Make(seed, 12, 1 + (seed % 4), plain: false);
            var late = new OrderProblem(day.Stops, Drives(day), day.LeavesAt, day.HomeBy - 170 - (seed % 100), day.GridMinutes);
            var exact = OrderProgram.Solve(late);
            var found = OrderProgram.Solve(late, limits: new(MostLabels: 1 << 12));
            Assert.Equal(exact.Best is null, found.Best is null);
            Assert.True(exact.Best is null || found.Best!.TravelMinutes <= exact.Best.TravelMinutes * 1.15);
            (none, some) = exact.Best is null ? (none + 1, some) : (none, some + 1);
        }

        Assert.True(none > 20 && some > 20, $"{none} without, {some} with an order.");
    }

    [Fact]
    public void A_day_that_is_a_minute_too_short_is_proved_impossible_and_one_just_long_enough_is_solved()
    {
        for (var seed = 0; seed < 10; seed++)
        {
            var day = OrderCases.Make(seed, 12, 10, plain: true);
            OrderStop[] open = [.. day.Stops.Select(stop => new OrderStop(480, 2400, stop.ServiceMinutes))];
            var least = OrderProgram.Solve(new(open, Drives(day), 480)).Best!.TravelMinutes;
            var over = 480 + open.Sum(stop => stop.ServiceMinutes) + least;
            Assert.Equal(least, OrderProgram.Solve(new(open, Drives(day), 480, over)).Best!.TravelMinutes);
            Assert.Equal(new OrderResult(null, true), OrderProgram.Solve(new(open, Drives(day), 480, over - 1)));
        }
    }

    [Fact]
    public void What_is_out_of_bounds_is_not_taken()
    {
        Assert.Throws<ArgumentException>(() => new OrderProblem([new(0, 10, 5)], [0, 1, 1], 0));
        Assert.Throws<ArgumentException>(() => new OrderProblem([new(10, 0, 5)], [0, 1, 1, 0], 0));
        Assert.Throws<ArgumentException>(() => new OrderProblem([new(0, 10, -5)], [0, 1, 1, 0], 0));
        Assert.Throws<ArgumentException>(() => new OrderProblem([new([new(0, 10), new(10, 20)], 5)], [0, 1, 1, 0], 0));
        Assert.Throws<ArgumentException>(() => new OrderProblem([new(0, 10, 5)], [0, -1, 1, 0], 0));
        Assert.Throws<ArgumentException>(() => new OrderProblem([], [0], 0, gridMinutes: 0));
        Assert.Throws<ArgumentException>(() => OrderProgram.Follow(new([new(0, 10, 5)], [0, 1, 1, 0], 0), [1]));
    }

    private static int[] Drives(OrderProblem day) =>
        [.. Enumerable.Range(0, (day.Stops.Count + 1) * (day.Stops.Count + 1))
            .Select(i => day.Drive(i / (day.Stops.Count + 1), i % (day.Stops.Count + 1)))];

    /// <summary>Follows the order by the words of the problem, not by its methods.</summary>
    private static void AssertKeepsAll(OrderProblem day, DayOrder order)
    {
        Assert.Equal(Enumerable.Range(0, day.Stops.Count), order.Stops.Order());
        var (at, free, driven) = (day.Stops.Count, day.LeavesAt, 0);
        foreach (var (stop, start) in order.Stops.Zip(order.Starts))
        {
            driven += day.Drive(at, stop);
            Assert.True(start >= free + day.Drive(at, stop));
            Assert.Contains(day.Stops[stop].Windows, window =>
                window.From <= start && start <= window.To && (start == window.From || start % day.GridMinutes == 0));
            (at, free) = (stop, start + day.Stops[stop].ServiceMinutes);
        }
        var home = day.Drive(at, day.Stops.Count);
        Assert.Equal((driven + home, free + home), (order.TravelMinutes, order.EndsAt));
        Assert.True(order.EndsAt <= day.HomeBy);
    }
}
