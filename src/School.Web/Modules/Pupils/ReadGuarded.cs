using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Security;

namespace School.Web.Modules.Pupils;

/// <summary>What was guarded, opened, and the row that it belongs to.</summary>
internal sealed record Guarded(Pupil Pupil, string? DriverNumber, string? HealthNotes, string? TheoryCertificate);

/// <summary>The one way to what is guarded: staff leave a line in the audit, a pupil reads their own.</summary>
internal sealed class ReadGuarded(SchoolDb db, OwnPupils own, Sealer sealer, Audit audit)
{
    public Task<Outcome<Guarded>> RunAsync(Viewer viewer, Guid id, CancellationToken cancel) => db.InTransactionAsync<Guarded>(async cancel =>
    {
        var pupil = await db.Set<Pupil>().AsNoTracking().VisibleTo(viewer).SingleOrDefaultAsync(p => p.Id == id, cancel);
        if (pupil is null)
        {
            return Refusal.NotFound("pupil");
        }

        if (await own.RefuseSealedAsync(viewer, id, cancel) is { } notYours)
        {
            return notYours;
        }

        if (viewer.PupilId != id)
        {
            audit.Note(viewer, "pupil.guarded.read", id, "Opened the driver number and health notes.");
        }

        return new Guarded(pupil, sealer.Open(pupil.DriverNumberSealed), sealer.Open(pupil.HealthNotesSealed), sealer.Open(pupil.TheoryCertificateSealed));
    }, cancel);
}
