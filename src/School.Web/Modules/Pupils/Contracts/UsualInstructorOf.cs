using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Pupils.Contracts;

/// <summary>With whom a pupil usually learns, and who therefore sees them.</summary>
internal sealed class UsualInstructorOf(SchoolDb db, Audit audit)
{
    /// <summary>From now on it is this instructor: in the caller's transaction.</summary>
    public async Task BecomesAsync(Viewer viewer, Guid pupilId, Guid instructorId, CancellationToken cancel)
    {
        var pupil = await db.Set<Pupil>().SingleAsync(p => p.Id == pupilId, cancel);
        pupil.UsualInstructorId = instructorId;
        audit.NoteFields(viewer, "pupil.change", pupilId, "Changed", pupil);
    }
}
