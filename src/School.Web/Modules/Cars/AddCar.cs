using NodaTime;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Cars;

/// <summary>Adds a car, and gives it to whoever is to hold it from today on.</summary>
internal sealed class AddCar(SchoolDb db, SchoolInfo school, InstructorBook instructors, Audit audit, IClock clock)
{
    public Task<Outcome<Car>> RunAsync(Viewer viewer, NewCarInput input, CancellationToken cancel) => db.InTransactionAsync<Car>(async cancel =>
    {
        var today = (await school.GetAsync(cancel)).Today(clock);
        var (check, errors) = (input.Check(today), new FieldErrors());
        if (!check.Ok)
        {
            errors.AddAll(check.Refusal);
        }

        var holder = input.HeldBy is { } id ? await instructors.FindAsync(id, cancel) : null;
        errors.When(input.HeldBy is not null && holder is not { RetiredOn: null }, nameof(input.HeldBy), "Choose an instructor of the school, or nobody yet.");
        if (errors.ToRefusal() is { } refusal)
        {
            return refusal;
        }

        var car = db.Add(Car.From(check.Value!, today, viewer.PersonId)).Entity;
        audit.Note(viewer, "car.add", car.Id, $"Added the {car.Label} ({car.Plate}).");
        if (holder is not null)
        {
            db.Add(new Holding { CarId = car.Id, InstructorId = holder.Id, From = today, Standing = true });
            audit.Note(viewer, "car.hold", car.Id, $"Gave the {car.Label} to {holder.Name} from today on.");
        }

        return car;
    }, cancel);
}
