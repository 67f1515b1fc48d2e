using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Pupils;

/// <summary>Takes a pupil back who had left; they sign in again once they are invited anew.</summary>
internal sealed class TakeBackPupil(SchoolDb db, Audit audit)
{
    public Task<Outcome<Pupil>> RunAsync(Viewer viewer, Guid id, int? expected, CancellationToken cancel) => db.InTransactionAsync<Pupil>(async cancel =>
    {
        var taken = await db.Set<Pupil>().TakeAsync(id, expected, "pupil", cancel);
        if (taken is { Value: { RetiredOn: not null } pupil })
        {
            pupil.RetiredOn = null;
            audit.Note(viewer, "pupil.take_back", id, "Took the pupil back.");
        }

        return taken;
    }, cancel);
}
