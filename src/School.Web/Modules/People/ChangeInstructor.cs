using NodaTime;
using School.Web.Modules.Places.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People;

/// <summary>Changes what is known of an instructor, unless somebody changed it since it was opened.</summary>
internal sealed class ChangeInstructor(SchoolDb db, SchoolInfo school, PlaceFinder places, Audit audit, IClock clock)
{
    public Task<Outcome<Instructor>> RunAsync(Viewer viewer, Guid id, InstructorInput input, int? expected, CancellationToken cancel) =>
        db.InTransactionAsync<Instructor>(
            async cancel =>
            {
                var taken = await db.Set<Instructor>().TakeAsync(id, expected, "instructor", cancel);
                if (!taken.Ok)
                {
                    return taken;
                }

                var row = taken.Value;
                var read = (input with { Base = await places.LookAsync(input.Base, null, viewer, cancel) }).Read((await school.GetAsync(cancel)).Today(clock), row);
                if (!read.Ok)
                {
                    return read;
                }

                row.TakeOver(read.Value, (await school.GetAsync(cancel)).Today(clock), viewer.PersonId);
                audit.NoteFields(viewer, "instructor.change", row.Id, $"Changed {row.Name}", row);
                return row;
            },
            cancel);
}
