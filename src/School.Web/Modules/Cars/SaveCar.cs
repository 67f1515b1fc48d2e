using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.People.Contracts;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Cars;

internal sealed class SaveCar(SchoolDb db, SchoolInfo school, IClock clock)
{
    public Task<Outcome<Car>> AddAsync(CarInput input, CancellationToken cancel) => db.InTransactionAsync<Car>(async cancel =>
    {
        var check = input.Check((await school.GetAsync(cancel)).Today(clock));
        return check.Ok ? db.Add(Car.From(check.Value)).Entity : check.Refusal;
    }, cancel);

    /// <param name="id">Which car.</param>
    /// <param name="version">The version that was changed; another one is stale.</param>
    /// <param name="input">All that is to be kept of it from now on.</param>
    /// <param name="cancel">Stops.</param>
    public Task<Outcome<Car>> ChangeAsync(Guid id, int version, CarInput input, CancellationToken cancel) => db.InTransactionAsync<Car>(async cancel =>
    {
        var car = await db.Set<Car>().SingleOrDefaultAsync(c => c.Id == id, cancel);
        if (car is null)
        {
            return Refusal.NotFound("car");
        }

        if (car.Version != version)
        {
            return Refusal.Stale;
        }

        var check = input.Check((await school.GetAsync(cancel)).Today(clock));
        return check.Ok ? car.Take(check.Value) : check.Refusal;
    }, cancel);
}
