using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Cars;
using School.Web.Platform.Database;

namespace School.Web.Modules.Cars.Contracts;

/// <summary>A car as other modules see it.</summary>
internal sealed record CarCard(Guid Id, string Label, string Plate, CarFacts Facts, LocalDate? RetiredOn);

/// <summary>Cars and who holds them, as the slot search wants them.</summary>
internal sealed record CarsAndHolds(IReadOnlyList<CarCard> Cars, IReadOnlyList<CarHold> Holds);

internal sealed class CarPark(SchoolDb db, ReadOnce once)
{
    public async Task<CarsAndHolds> ReadAsync(DateTimeZone zone, bool alsoRetired, CancellationToken cancel)
    {
        var all = await once.GetAsync("cars", () => db.Set<Car>().AsNoTracking().AsSplitQuery().Include(c => c.OffRoad).Include(c => c.Holdings)
            .OrderBy(c => c.Label).ToListAsync(cancel));
        var rows = all.FindAll(c => alsoRetired || c.RetiredOn is null);
        return new(rows.ConvertAll(Card), [.. rows.SelectMany(c => c.Holdings).Select(h => Hold(h, zone))]);
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

    private static CarCard Card(Car row) => new(
        row.Id, row.Label, row.Plate, row.Facts([.. row.OffRoad.Select(o => new Interval(o.StartsAt, o.EndsAt))]), row.RetiredOn);

    private static CarHold Hold(Holding row, DateTimeZone zone) => new(row.CarId, row.InstructorId, new Interval(
        zone.AtStartOfDay(row.From).ToInstant(), row.To is { } to ? zone.AtStartOfDay(to.PlusDays(1)).ToInstant() : null));
}
