using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Cars;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Cars.Contracts;

/// <summary>A car as other modules see it.</summary>
internal sealed record CarCard(Guid Id, string Label, string Plate, CarFacts Facts, LocalDate? RetiredOn)
{
    /// <summary>When the dates of its papers were entered as they stand, and by whom.</summary>
    public CarSightings Seen { get; init; } = CarSightings.None;
}

/// <summary>When the date of each paper of a car was entered as it stands, and by whom.</summary>
internal sealed record CarSightings(Sighting Mot, Sighting Tax, Sighting Insurance, Sighting Service)
{
    public static CarSightings None { get; } = new(Sighting.None, Sighting.None, Sighting.None, Sighting.None);
}

/// <summary>Cars and who holds them, as the slot search wants them.</summary>
internal sealed record CarsAndHolds(IReadOnlyList<CarCard> Cars, IReadOnlyList<CarHold> Holds);

internal sealed class CarPark(SchoolDb db, SchoolInfo school, ReadOnce once)
{
    public async Task<CarsAndHolds> ReadAsync(DateTimeZone zone, bool alsoRetired, CancellationToken cancel)
    {
        var all = await once.GetAsync(Cars, async () => new Garage(await Rows.ToListAsync(cancel), await OffRoad.ToListAsync(cancel), await Holdings.ToListAsync(cancel)));
        var rows = all.Cars.Where(c => alsoRetired || c.RetiredOn is null).ToList();
        var years = (await school.GetAsync(cancel)).FirstMotYears;
        return new(rows.ConvertAll(row => Card(row, all.OffRoadOf[row.Id], years)), [.. rows.SelectMany(row => all.HoldingsOf[row.Id]).Select(h => Hold(h, zone))]);
    }

    /// <summary>All of them as a part of what is read together.</summary>
    public void Ahead(ReadTogether together)
    {
        if (once.Wants(Cars))
        {
            var (offRoad, holdings) = (together.Ask(OffRoad), together.Ask(Holdings));
            once.Ahead(together, Cars, Rows, rows => new Garage(rows, offRoad.All, holdings.All));
        }
    }

    private const string Cars = "cars";

    private IQueryable<Car> Rows => db.Set<Car>().AsNoTracking().OrderBy(c => c.Label);

    private IQueryable<OffRoadPeriod> OffRoad => db.Set<OffRoadPeriod>().AsNoTracking();

    private IQueryable<Holding> Holdings => db.Set<Holding>().AsNoTracking();

    /// <summary>All cars with what belongs to each.</summary>
    private sealed class Garage(IReadOnlyList<Car> cars, IReadOnlyList<OffRoadPeriod> offRoad, IReadOnlyList<Holding> holdings)
    {
        public IReadOnlyList<Car> Cars { get; } = cars;

        public ILookup<Guid, OffRoadPeriod> OffRoadOf { get; } = offRoad.ToLookup(o => o.CarId);

        public ILookup<Guid, Holding> HoldingsOf { get; } = holdings.ToLookup(h => h.CarId);
    }

    /// <summary>Takes a car off the road for a period, unless it is already; saved with the caller's transaction.</summary>
    public async Task TakeOffRoadAsync(Guid carId, Interval during, string reason, CancellationToken cancel)
    {
        var known = await db.Set<OffRoadPeriod>().AnyAsync(
            o => o.CarId == carId && o.StartsAt <= during.Start && (o.EndsAt == null || o.EndsAt >= during.End), cancel);
        if (!known)
        {
            db.Add(new OffRoadPeriod { CarId = carId, StartsAt = during.Start, EndsAt = during.End, Reason = reason });
        }
    }

    private static CarCard Card(Car row, IEnumerable<OffRoadPeriod> offRoad, int firstMotYears) => new(
        row.Id, row.Label, row.Plate, row.Facts([.. offRoad.Select(o => new Interval(o.StartsAt, o.EndsAt))], firstMotYears), row.RetiredOn)
    { Seen = row.Seen() };

    private static CarHold Hold(Holding row, DateTimeZone zone) => new(row.CarId, row.InstructorId, new Interval(
        zone.AtStartOfDay(row.From).ToInstant(), row.To is { } to ? zone.AtStartOfDay(to.PlusDays(1)).ToInstant() : null));
}
