using NodaTime;

namespace School.Core.Cars;

/// <summary>The needs and cars of one gearbox, allocated.</summary>
/// <remarks>
/// The exact part is a dynamic program over the needs in order of start. A state is what the next needs can notice: until when each
/// car is taken, and which cars are in use; cars that no need tells apart are sorted, so that their names do not multiply the states. Beyond
/// <see cref="MostStates"/> states the cheapest are kept and the answer is not proven.
/// </remarks>
internal sealed class CarSweep
{
    public const int MostStates = 20_000;

    private const long Unmet = 1L << 40;
    private const long Changed = 1L << 20;
    private const long Used = 1;

    private readonly bool[,] suits;
    private readonly int[] has;
    private readonly int[] kind;

    public CarSweep(IReadOnlyList<CarNeed> needs, IReadOnlyList<CarFacts> cars, DateTimeZone zone)
    {
        (Needs, Cars) = (needs, cars);
        suits = new bool[needs.Count, cars.Count];
        has = new int[needs.Count];
        for (var need = 0; need < needs.Count; need++)
        {
            has[need] = -1;
            for (var car = 0; car < cars.Count; car++)
            {
                suits[need, car] = Suits(needs[need], cars[car], zone);
                if (cars[car].Id == needs[need].Has)
                    has[need] = car;
            }
        }
        kind = Kinds();
    }

    public IReadOnlyList<CarNeed> Needs { get; }

    public IReadOnlyList<CarFacts> Cars { get; }

    public bool Suits(int need, int car) => suits[need, car];

    public (int[] Cars, CarAllocationCost Cost, bool IsProven) Solve()
    {
        var coloured = Colour();
        var cost = CostOf(coloured);
        if (cost.Unmet == 0 && cost.Changed == ChangesAtLeast() && cost.CarsUsed == MostAtOnce())
            return (coloured, cost, true);
        var (swept, proven) = Sweep();
        return (swept, CostOf(swept), proven);
    }

    /// <summary>The most needs at one moment.</summary>
    public int MostAtOnce()
    {
        var most = 0;
        for (var need = 0; need < Needs.Count; need++)
        {
            var (start, active) = (Needs[need].During.Start, 0);
            for (var other = 0; other <= need; other++)
                active += Needs[other].During.End > start ? 1 : 0;
            // Of needs that start together the last sees them all.
            most = Math.Max(most, active);
        }
        return most;
    }

    private int ChangesAtLeast()
    {
        var changes = 0;
        for (var need = 0; need < Needs.Count; need++)
            changes += Needs[need].Has is not null && (has[need] < 0 || !suits[need, has[need]]) ? 1 : 0;
        return changes;
    }

    /// <summary>Each need in order of start gets the car that its instructor has, else one in use, else a new one; the first that is free.</summary>
    private int[] Colour()
    {
        var (given, used) = (new int[Needs.Count], new bool[Cars.Count]);
        var until = new Instant[Cars.Count];
        Array.Fill(until, Instant.MinValue);
        for (var need = 0; need < Needs.Count; need++)
        {
            var (start, choice) = (Needs[need].During.Start, -1);
            for (var car = 0; car < Cars.Count; car++)
            {
                if (suits[need, car] && until[car] <= start && (choice < 0 || Rank(need, car, used) < Rank(need, choice, used)))
                    choice = car;
            }
            given[need] = choice;
            if (choice >= 0)
                (until[choice], used[choice]) = (Needs[need].During.End, true);
        }
        return given;
    }

    private int Rank(int need, int car, bool[] used) => car == has[need] ? 0 : used[car] ? 1 : 2;

    private CarAllocationCost CostOf(int[] given)
    {
        var (unmet, changed) = (0, 0);
        for (var need = 0; need < given.Length; need++)
        {
            unmet += given[need] < 0 ? 1 : 0;
            changed += given[need] >= 0 && Needs[need].Has is not null && given[need] != has[need] ? 1 : 0;
        }
        return new(unmet, changed, given.Where(car => car >= 0).Distinct().Count());
    }

    private (int[] Given, bool IsProven) Sweep()
    {
        var proven = true;
        var ends = Needs.Select(need => need.During.End).Distinct().Order().ToList();
        var layer = new List<State> { new(0, new int[Cars.Count], -1, null) };
        for (var need = 0; need < Needs.Count; need++)
        {
            var (start, end) = (Needs[need].During.Start, ends.BinarySearch(Needs[need].During.End) + 1);
            var next = new Dictionary<string, State>();
            foreach (var state in layer)
            {
                Keep(next, new(state.Cost + Unmet, state.Cars, -1, state), start, ends);
                for (var car = 0; car < Cars.Count; car++)
                {
                    var (until, used) = (state.Cars[car] >> 1, (state.Cars[car] & 1) == 1);
                    if (!suits[need, car] || (until > 0 && ends[until - 1] > start))
                        continue;
                    var cars = (int[])state.Cars.Clone();
                    cars[car] = (end << 1) | 1;
                    var cost = state.Cost + (used ? 0 : Used) + (Needs[need].Has is not null && car != has[need] ? Changed : 0);
                    Keep(next, new(cost, cars, car, state), start, ends);
                }
            }
            layer = [.. next.Values];
            if (layer.Count > MostStates)
                (layer, proven) = ([.. layer.OrderBy(state => state.Cost).Take(MostStates)], false);
        }
        var given = new int[Needs.Count];
        var step = layer.MinBy(state => state.Cost)!;
        for (var need = Needs.Count - 1; need >= 0; need--, step = step.Before!)
            given[need] = step.Car;
        return (given, proven);
    }

    private void Keep(Dictionary<string, State> states, State state, Instant now, List<Instant> ends)
    {
        var key = string.Create(Cars.Count, (state, now, ends, kind), static (chars, of) =>
        {
            for (var car = 0; car < chars.Length; car++)
            {
                var (until, used) = (of.state.Cars[car] >> 1, of.state.Cars[car] & 1);
                chars[car] = (char)(until > 0 && of.ends[until - 1] > of.now ? of.state.Cars[car] : used);
            }
            for (var from = 0; from < chars.Length;)
            {
                var to = from + 1;
                while (to < chars.Length && of.kind[to] == of.kind[from])
                    to++;
                chars[from..to].Sort();
                from = to;
            }
        });
        if (!states.TryGetValue(key, out var known) || state.Cost < known.Cost)
            states[key] = state;
    }

    /// <summary>A number for each car; neighbours that suit the same needs, and that nobody has, share it.</summary>
    private int[] Kinds()
    {
        var kinds = new int[Cars.Count];
        for (var car = 1; car < Cars.Count; car++)
        {
            var alike = !has.Contains(car) && !has.Contains(car - 1);
            for (var need = 0; alike && need < Needs.Count; need++)
                alike = suits[need, car] == suits[need, car - 1];
            kinds[car] = alike ? kinds[car - 1] : kinds[car - 1] + 1;
        }
        return kinds;
    }

    private static bool Suits(CarNeed need, CarFacts car, DateTimeZone zone)
    {
        if (need.NeedsDualControls && !car.DualControls || car.IsOffRoad(need.During))
            return false;
        var last = (need.During.End - Duration.Epsilon).InZone(zone).Date;
        for (var date = need.During.Start.InZone(zone).Date; date <= last; date = date.PlusDays(1))
        {
            if (car.WhyNotOn(date) is not null)
                return false;
        }
        return true;
    }

    /// <summary>The cars after some needs: for each twice the rank of the end until which it is taken, and one if it is in use.</summary>
    private sealed record State(long Cost, int[] Cars, int Car, State? Before);
}
