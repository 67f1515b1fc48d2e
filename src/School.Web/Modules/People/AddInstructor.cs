using NodaTime;
using School.Web.Modules.Places.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People;

internal sealed class AddInstructor(SchoolDb db, SchoolInfo school, PlaceFinder places, Audit audit, IClock clock)
{
    public Task<Outcome<Instructor>> RunAsync(Viewer viewer, InstructorInput input, CancellationToken cancel) => db.InTransactionAsync<Instructor>(
        async cancel =>
        {
            var read = (input with { Base = await places.LookAsync(input.Base, null, viewer, cancel) }).Read((await school.GetAsync(cancel)).Today(clock));
            if (read.Ok)
            {
                read.Value.RegistrationSeen = Sighting.None.After(null, read.Value.RegisteredTo, (await school.GetAsync(cancel)).Today(clock), viewer.PersonId);
                db.Add(read.Value);
                audit.Note(viewer, "instructor.add", read.Value.Id, $"Added {read.Value.Name}.");
            }

            return read;
        },
        cancel);
}
