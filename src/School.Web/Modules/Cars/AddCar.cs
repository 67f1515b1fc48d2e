using NodaTime;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Cars;

internal sealed class AddCar(SchoolDb db, SchoolInfo school, Audit audit, IClock clock)
{
    public Task<Outcome<Car>> RunAsync(Viewer viewer, CarInput input, CancellationToken cancel) => db.InTransactionAsync<Car>(async cancel =>
    {
        var today = (await school.GetAsync(cancel)).Today(clock);
        var check = input.Check(today);
        if (!check.Ok)
        {
            return check.Refusal;
        }

        var car = db.Add(Car.From(check.Value, today, viewer.PersonId)).Entity;
        audit.Note(viewer, "car.add", car.Id, $"Added the {car.Label} ({car.Plate}).");
        return car;
    }, cancel);
}
