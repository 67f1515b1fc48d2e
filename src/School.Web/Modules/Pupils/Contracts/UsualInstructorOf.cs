using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Pupils.Contracts;

/// <summary>With whom a pupil usually learns, and who therefore sees them.</summary>
internal sealed class UsualInstructorOf(SchoolDb db, Audit audit)
{
    /// <summary>Nobody of the two leaves while this transaction goes on.</summary>
    public Task HoldAsync(Guid pupilId, Guid instructorId, CancellationToken cancel) => db.Database.ExecuteSqlAsync(
        $"SELECT FROM pupils.pupils WHERE id = {pupilId} FOR SHARE; SELECT FROM people.instructors WHERE id = {instructorId} FOR SHARE", cancel);

    /// <summary>From now on it is this instructor: in the caller's transaction.</summary>
    public async Task BecomesAsync(Viewer viewer, Guid pupilId, Guid instructorId, CancellationToken cancel)
    {
        var pupil = await db.Set<Pupil>().SingleAsync(p => p.Id == pupilId, cancel);
        pupil.UsualInstructorId = instructorId;
        audit.NoteFields(viewer, "pupil.change", pupilId, "Changed", pupil);
    }
}
