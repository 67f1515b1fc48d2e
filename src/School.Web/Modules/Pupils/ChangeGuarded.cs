using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Security;

namespace School.Web.Modules.Pupils;

internal sealed class ChangeGuarded(SchoolDb db, OwnPupils own, Sealer sealer, Audit audit)
{
    public Task<Outcome<Pupil>> RunAsync(Viewer viewer, Guid id, GuardedInput input, int? expected, CancellationToken cancel) => db.InTransactionAsync<Pupil>(async cancel =>
    {
        if (await own.IfThereAsync(await own.RefuseSealedAsync(viewer, id, cancel), id, cancel) is { } notYours)
        {
            return notYours;
        }

        var taken = await db.Set<Pupil>().TakeAsync(id, expected, "pupil", cancel);
        if (!taken.Ok)
        {
            return taken;
        }

        var errors = new FieldErrors();
        input.Into(taken.Value, errors, sealer);
        if (errors.ToRefusal() is { } refusal)
        {
            return refusal;
        }

        audit.Note(viewer, "pupil.guarded.change", id, "Saved the driver number and health notes.");
        return taken;
    }, cancel);
}
