using NodaTime;
using School.Web.Modules.People.Contracts;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Cars;

internal sealed class ChangeCar(SchoolDb db, SchoolInfo school, IClock clock)
{
    public Task<Outcome<Car>> RunAsync(Guid id, int version, CarInput input, CancellationToken cancel) => db.InTransactionAsync<Car>(async cancel =>
    {
        var car = await db.Set<Car>().TakeAsync(id, version, "car", cancel);
        if (!car.Ok)
        {
            return car;
        }

        var check = input.Check((await school.GetAsync(cancel)).Today(clock));
        return check.Ok ? car.Value.Take(check.Value) : check.Refusal;
    }, cancel);
}
