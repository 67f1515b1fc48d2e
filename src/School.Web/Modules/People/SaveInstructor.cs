using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People;

/// <summary>Adds an instructor, or changes one whose version the caller has checked.</summary>
internal sealed class SaveInstructor(SchoolDb db, Audit audit, Viewer viewer)
{
    public async Task<Outcome<Instructor>> RunAsync(Instructor? existing, InstructorInput input, CancellationToken cancel)
    {
        var read = input.Read(existing?.Base);
        return read.Ok ? await db.InTransactionAsync(_ => Task.FromResult(Write(existing, read.Value)), cancel) : read;
    }

    private Outcome<Instructor> Write(Instructor? existing, Instructor read)
    {
        if (existing is null)
        {
            db.Add(read);
            audit.Note(viewer, "instructor.add", read.Id, $"Added {read.Name}.");
            return read;
        }

        existing.TakeOver(read);
        audit.NoteFields(viewer, "instructor.change", existing.Id, $"Changed {existing.Name}", existing);
        return existing;
    }
}
