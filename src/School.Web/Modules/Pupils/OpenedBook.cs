using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Pupils;

/// <summary>What was opened by a reason, as far as somebody may read of it: everything for who looks after people, of those who usually learn with them for an instructor.</summary>
internal sealed class OpenedBook(SchoolDb db)
{
    /// <summary>Of one pupil where one is named, whom the caller has asked about; else of all whom the viewer may ask about.</summary>
    public IQueryable<PupilAccess> ReadableBy(Viewer viewer, Guid? pupilId)
    {
        var (rows, teaches) = (db.Set<PupilAccess>().AsNoTracking(), viewer.InstructorId);
        return pupilId is { } one ? rows.Where(a => a.PupilId == one)
            : viewer.KeepsPupils ? rows
            : rows.Where(a => teaches != null && db.Set<Pupil>().Any(p => p.Id == a.PupilId && p.UsualInstructorId == teaches));
    }
}
