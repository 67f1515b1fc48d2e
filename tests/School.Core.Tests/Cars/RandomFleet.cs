using NodaTime;
using School.Core.Cars;

namespace School.Core.Tests.Cars;

/// <summary>Invented needs for cars over a few days.</summary>
internal static class RandomFleet
{
    private static readonly DateTimeZone London = DateTimeZoneProviders.Tzdb["Europe/London"];
    private static readonly LocalDate Monday = new(2026, 6, 8);

    /// <summary>Enough cars, all alike, and nobody has one yet.</summary>
    public static CarAllocationProblem Alike(int seed, int most)
    {
        var random = new Random(seed);
        var needs = Needs(random, random.Next(1, most + 1), mixed: false, []);
        return new(London, [.. needs.Select(_ => Car(random, mixed: false))], needs);
    }

    /// <summary>Cars of both gearboxes, some without dual controls, some in the workshop or out of date, not always enough of them.</summary>
    public static CarAllocationProblem Mixed(int seed, int most, int cars)
    {
        var random = new Random(seed);
        var fleet = Enumerable.Range(0, random.Next(1, cars + 1)).Select(_ => Car(random, mixed: true)).ToList();
        return new(London, fleet, Needs(random, random.Next(1, most + 1), mixed: true, fleet));
    }

    /// <summary>A school as it is: instructors with a car each and one lesson at a time, a spare car or two, some cars in the workshop or out of date.</summary>
    public static CarAllocationProblem School(int seed, int most)
    {
        var random = new Random(seed);
        var fleet = Enumerable.Range(0, random.Next(8, 13)).Select(_ => Car(random, mixed: true)).ToList();
        var spare = random.Next(1, 3);
        var needs = new List<CarNeed>();
        for (var day = 0; day < 2; day++)
        {
            foreach (var car in fleet.Skip(spare))
            {
                var (id, minute) = (NewId(random), random.Next(32, 48) * 15);
                for (var lesson = random.Next(2, 5); lesson > 0 && needs.Count < most; lesson--)
                {
                    var length = random.Next(4, 9) * 15;
                    needs.Add(new(NewId(random), id, new(At(day, minute), At(day, minute + length)), car.Gearbox, car.DualControls && random.Next(4) == 0, car.Id));
                    minute += length + random.Next(1, 5) * 15;
                }
            }
        }
        return new(London, fleet, needs);
    }

    private static List<CarNeed> Needs(Random random, int count, bool mixed, List<CarFacts> cars)
    {
        var instructors = Enumerable.Range(0, 6).Select(_ => (Id: NewId(random), Car: cars.Count > 0 && random.Next(3) > 0 ? cars[random.Next(cars.Count)] : null)).ToList();
        return [.. Enumerable.Range(0, count).Select(_ =>
        {
            var (id, car) = instructors[random.Next(instructors.Count)];
            var start = At(random.Next(3), random.Next(32, 72) * 15);
            var gearbox = mixed && random.Next(10) < 3 ? Gearbox.Automatic : Gearbox.Manual;
            return new CarNeed(
                NewId(random), id, new(start, start + Duration.FromMinutes(random.Next(4, 12) * 15)), gearbox, mixed && random.Next(3) == 0,
                car?.Gearbox == gearbox ? car.Id : null);
        })];
    }

    private static CarFacts Car(Random random, bool mixed) => new(
        NewId(random),
        mixed && random.Next(10) < 4 ? Gearbox.Automatic : Gearbox.Manual,
        !mixed || random.Next(3) > 0,
        new LocalDate(2024, 3, 1),
        null,
        mixed && random.Next(6) == 0 ? Monday.PlusDays(random.Next(3)) : null,
        null,
        null,
        mixed && random.Next(5) == 0 ? [new(At(random.Next(3), 600), At(2, random.Next(700, 1000)))] : []);

    private static Instant At(int day, int minute) => Monday.PlusDays(day).AtMidnight().InZoneStrictly(London).ToInstant() + Duration.FromMinutes(minute);

    private static Guid NewId(Random random)
    {
        var bytes = new byte[16];
        random.NextBytes(bytes);
        return new(bytes);
    }
}
