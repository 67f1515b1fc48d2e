using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Cars;

/// <summary>The school does not teach in the car any more; who held it and what was taught in it stays.</summary>
internal sealed class RetireCar(SchoolDb db, SchoolInfo school, Ahead ahead, Audit audit, Viewer viewer, IClock clock)
{
    public Task<Outcome<Car>> RunAsync(Guid id, int? expectedVersion, CancellationToken cancel) => db.InTransactionAsync<Car>(async cancel =>
    {
        await db.LockAsync([HoldCar.LockOf(id)], cancel);
        var car = await db.Set<Car>().Include(c => c.Holdings).SingleOrDefaultAsync(c => c.Id == id, cancel);
        if (car is null)
        {
            return Refusal.NotFound("car");
        }

        if (expectedVersion is { } version && version != car.Version)
        {
            return Refusal.Stale;
        }

        if (car.RetiredOn is not null)
        {
            return car;
        }

        if (await ahead.AskAsync(new(CarId: id), cancel) is { Any: true } booked)
        {
            return booked.Refuse($"There {booked.Are} {booked.What} ahead in this car. {booked.MoveThem}, then retire the car.");
        }

        var today = (await school.GetAsync(cancel)).Today(clock);
        car.RetiredOn = today;
        car.Holdings.RemoveAll(h => h.From > today);
        car.Holdings.Where(h => h.To is null || h.To > today).ToList().ForEach(h => h.To = today);
        audit.Note(viewer, "car.retire", id, $"Retired the {car.Label}.");
        return car;
    }, cancel);

    /// <summary>The school teaches in the car again, once somebody holds it.</summary>
    public Task<Outcome<Car>> TakeBackAsync(Guid id, int? expectedVersion, CancellationToken cancel) => db.InTransactionAsync<Car>(async cancel =>
    {
        if (await db.Set<Car>().SingleOrDefaultAsync(c => c.Id == id, cancel) is not { } car)
        {
            return Refusal.NotFound("car");
        }

        if (expectedVersion is { } version && version != car.Version)
        {
            return Refusal.Stale;
        }

        if (car.RetiredOn is not null)
        {
            car.RetiredOn = null;
            audit.Note(viewer, "car.take_back", id, $"Took the {car.Label} back.");
        }

        return car;
    }, cancel);
}
