using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Cars;

/// <summary>The school teaches in the car again, once somebody holds it.</summary>
internal sealed class TakeBackCar(SchoolDb db, Audit audit)
{
    public Task<Outcome<Car>> RunAsync(Viewer viewer, Guid id, int? expected, CancellationToken cancel) => db.InTransactionAsync<Car>(async cancel =>
    {
        var taken = await db.Set<Car>().TakeAsync(id, expected, "car", cancel);
        if (taken is { Value: { RetiredOn: not null } car })
        {
            car.RetiredOn = null;
            audit.Note(viewer, "car.take_back", id, $"Took the {car.Label} back.");
        }

        return taken;
    }, cancel);
}
