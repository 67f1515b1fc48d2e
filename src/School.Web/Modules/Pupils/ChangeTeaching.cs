using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Pupils;

/// <summary>The need line and the notes, kept by whoever teaches.</summary>
internal sealed class ChangeTeaching(SchoolDb db, OwnPupils own, Audit audit)
{
    public Task<Outcome<Pupil>> RunAsync(Viewer viewer, Guid id, TeachingInput input, int? expected, CancellationToken cancel) => db.InTransactionAsync<Pupil>(async cancel =>
    {
        if (await own.IfThereAsync(await own.RefuseAsync(viewer, id, cancel), id, cancel) is { } notYours)
        {
            return notYours;
        }

        var taken = await db.Set<Pupil>().TakeAsync(id, expected, "pupil", cancel);
        if (!taken.Ok)
        {
            return taken;
        }

        var errors = new FieldErrors();
        input.Into(taken.Value, errors);
        if (errors.ToRefusal() is { } refusal)
        {
            return refusal;
        }

        audit.NoteFields(viewer, "pupil.teaching.change", id, "Changed what instructors note", taken.Value);
        return taken;
    }, cancel);
}
