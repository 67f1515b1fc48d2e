using NodaTime;

namespace School.Core.Cars;

/// <summary>The needs and cars of one gearbox: who suits whom, the colouring, and what no allocation can undercut.</summary>
internal sealed class CarFleet
{
    private readonly bool[,] suits;
    private readonly int[] has;
    private readonly int[] ofAll;
    private readonly int[] ofDual;

    public CarFleet(IReadOnlyList<CarNeed> needs, IReadOnlyList<CarFacts> cars, DateTimeZone zone)
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
                {
                    has[need] = car;
                }
            }
        }
        (ofAll, ofDual) = (Capacity(_ => true), Capacity(need => needs[need].NeedsDualControls));
    }

    /// <summary>In order of start.</summary>
    public IReadOnlyList<CarNeed> Needs { get; }

    public IReadOnlyList<CarFacts> Cars { get; }

    public bool Suits(int need, int car) => suits[need, car];

    public bool IsHad(int car) => has.Contains(car);

    public bool IsChange(int need, int car) => Needs[need].Has is not null && has[need] != car;

    /// <summary>What some needs cost with the cars given to them.</summary>
    public CarAllocationCost CostOf(int[] given, int from, int to)
    {
        var (unmet, changed) = (0, 0);
        for (var need = from; need < to; need++)
        {
            unmet += given[need] < 0 ? 1 : 0;
            changed += given[need] >= 0 && IsChange(need, given[need]) ? 1 : 0;
        }
        return new(unmet, changed, given[from..to].Where(car => car >= 0).Distinct().Count());
    }

    /// <summary>Each need in order of start gets the car that its instructor has, else one in use, else a new one; the first that is free.</summary>
    public int[] Colour()
    {
        var (given, used) = (new int[Needs.Count], new bool[Cars.Count]);
        var until = new Instant[Cars.Count];
        Array.Fill(until, Instant.MinValue);
        for (var need = 0; need < Needs.Count; need++)
        {
            var (start, choice) = (Needs[need].During.Start, -1);
            for (var car = 0; car < Cars.Count; car++)
            {
                if (suits[need, car] && until[car] <= start && (choice < 0 || Rank(need, car) < Rank(need, choice)))
                {
                    choice = car;
                }
            }
            given[need] = choice;
            if (choice >= 0)
            {
                (until[choice], used[choice]) = (Needs[need].During.End, true);
            }
        }
        return given;

        int Rank(int need, int car) => car == has[need] ? 0 : used[car] ? 1 : 2;
    }

    /// <summary>The most of some needs at one moment.</summary>
    public int MostAtOnce(int from, int to)
    {
        var most = 0;
        for (var need = from; need < to; need++)
        {
            var active = 0;
            for (var other = from; other <= need; other++)
            {
                active += Needs[other].During.End > Needs[need].During.Start ? 1 : 0;
            }
            // Of needs that start together the last sees them all.
            most = Math.Max(most, active);
        }
        return most;
    }

    /// <summary>The needs in parts that do not meet in time: when one begins, every car is free.</summary>
    public List<(int From, int To)> Parts()
    {
        var parts = new List<(int, int)>();
        var (from, taken) = (0, Instant.MinValue);
        for (var need = 0; need < Needs.Count; need++)
        {
            if (need > from && Needs[need].During.Start >= taken)
            {
                parts.Add((from, need));
                from = need;
            }
            taken = Instant.Max(taken, Needs[need].During.End);
        }
        if (from < Needs.Count)
        {
            parts.Add((from, Needs.Count));
        }

        return parts;
    }

    /// <summary>Of some needs, how many cannot be met at least.</summary>
    /// <remarks>At each moment no more needs are met than there are cars that suit any of them. Where there are more, the one that
    /// ends last is left out: it stands in the way of most that follows.</remarks>
    public int UnmetAtLeast(int from, int to) =>
        Math.Max(Uncovered(from, to, _ => true, ofAll), Uncovered(from, to, need => Needs[need].NeedsDualControls, ofDual));

    /// <summary>For each car and need: how many of the needs from there on that have the car can keep it at most.</summary>
    /// <remarks>Needs that follow each other (weighted interval scheduling; Kleinberg and Tardos, Algorithm Design, 6.1, from memory).</remarks>
    public int[,] KeptAtMost()
    {
        var kept = new int[Cars.Count, Needs.Count + 1];
        for (var need = Needs.Count - 1; need >= 0; need--)
        {
            for (var car = 0; car < Cars.Count; car++)
            {
                kept[car, need] = kept[car, need + 1];
            }

            if (has[need] is >= 0 and var own && suits[need, own])
            {
                kept[own, need] = Math.Max(kept[own, need], 1 + kept[own, FirstFrom(Needs[need].During.End)]);
            }
        }
        return kept;
    }

    /// <summary>The first need that starts at a moment or later.</summary>
    public int FirstFrom(Instant moment)
    {
        var (from, to) = (0, Needs.Count);
        while (from < to)
        {
            var middle = (from + to) / 2;
            if (Needs[middle].During.Start < moment)
            {
                from = middle + 1;
            }
            else
            {
                to = middle;
            }
        }
        return from;
    }

    private int Uncovered(int from, int to, Func<int, bool> counts, int[] capacity)
    {
        var (count, active) = (0, new List<int>());
        for (var need = from; need < to; need++)
        {
            if (!counts(need))
            {
                continue;
            }

            var start = Needs[need].During.Start;
            active.RemoveAll(other => Needs[other].During.End <= start);
            active.Add(need);
            if (active.Count <= capacity[need])
            {
                continue;
            }

            active.Remove(active.MaxBy(other => Needs[other].During.End));
            count++;
        }
        return count;
    }

    /// <summary>For the start of each need, how many cars suit any that counts then.</summary>
    private int[] Capacity(Func<int, bool> counts)
    {
        var capacity = new int[Needs.Count];
        for (var need = 0; need < Needs.Count; need++)
        {
            var moment = Needs[need].During.Start;
            for (var car = 0; car < Cars.Count; car++)
            {
                for (var other = 0; other < Needs.Count && Needs[other].During.Start <= moment; other++)
                {
                    if (!suits[other, car] || Needs[other].During.End <= moment || !counts(other))
                    {
                        continue;
                    }

                    capacity[need]++;
                    break;
                }
            }
        }
        return capacity;
    }

    private static bool Suits(CarNeed need, CarFacts car, DateTimeZone zone)
    {
        if ((need.NeedsDualControls && !car.DualControls) || car.IsOffRoad(need.During))
        {
            return false;
        }

        var last = (need.During.End - Duration.Epsilon).InZone(zone).Date;
        for (var date = need.During.Start.InZone(zone).Date; date <= last; date = date.PlusDays(1))
        {
            if (car.WhyNotOn(date) is not null)
            {
                return false;
            }
        }
        return true;
    }
}
