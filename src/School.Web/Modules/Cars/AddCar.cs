using NodaTime;
using School.Web.Modules.People.Contracts;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Cars;

internal sealed class AddCar(SchoolDb db, SchoolInfo school, IClock clock)
{
    public Task<Outcome<Car>> RunAsync(CarInput input, CancellationToken cancel) => db.InTransactionAsync<Car>(async cancel =>
    {
        var check = input.Check((await school.GetAsync(cancel)).Today(clock));
        return check.Ok ? db.Add(Car.From(check.Value)).Entity : check.Refusal;
    }, cancel);
}
