using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Cars;

/// <summary>The school does not teach in the car any more; who held it and what was taught in it stays.</summary>
internal sealed class RetireCar(SchoolDb db, SchoolInfo school, Ahead ahead, Audit audit, IClock clock)
{
    public Task<Outcome<Car>> RunAsync(Viewer viewer, Guid id, int? expected, CancellationToken cancel) => db.InTransactionAsync<Car>(async cancel =>
    {
        await db.LockAsync([HoldCar.LockOf(id)], cancel);
        var taken = await db.Set<Car>().Include(c => c.Holdings).TakeAsync(id, expected, "car", cancel);
        if (taken is not { Value: { RetiredOn: null } car })
        {
            return taken;
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
}
