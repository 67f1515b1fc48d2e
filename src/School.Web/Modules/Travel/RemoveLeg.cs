using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Travel;

/// <summary>Takes back a drive that was recorded wrongly.</summary>
internal sealed class RemoveLeg(SchoolDb db)
{
    public Task<Outcome<RecordedDrive>> RunAsync(Viewer viewer, Guid instructorId, Guid legId, CancellationToken cancel) =>
        db.InTransactionAsync<RecordedDrive>(
            async cancel =>
            {
                var drive = await db.Set<RecordedDrive>().SingleOrDefaultAsync(d => d.Id == legId && d.InstructorId == instructorId, cancel);
                if (drive is null || !viewer.MayRecordFor(instructorId))
                {
                    return Refusal.NotFound("drive");
                }

                db.Remove(drive);
                return drive;
            },
            cancel);
}
