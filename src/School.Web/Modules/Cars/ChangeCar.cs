using NodaTime;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Cars;

internal sealed class ChangeCar(SchoolDb db, SchoolInfo school, Audit audit, IClock clock)
{
    public Task<Outcome<Car>> RunAsync(Viewer viewer, Guid id, CarInput input, int? expected, CancellationToken cancel) => db.InTransactionAsync<Car>(async cancel =>
    {
        var taken = await db.Set<Car>().TakeAsync(id, expected, "car", cancel);
        if (!taken.Ok)
        {
            return taken;
        }

        var today = (await school.GetAsync(cancel)).Today(clock);
        var check = input.Check(today, taken.Value.MotExpires);
        if (!check.Ok)
        {
            return check.Refusal;
        }

        var (car, label) = (taken.Value, taken.Value.Label);
        audit.NoteValues(viewer, "car.change", id, $"Changed the {label}", car.Take(check.Value, today, viewer.PersonId));
        return car;
    }, cancel);
}
