using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Calendars;

internal static class FeedsOf
{
    /// <summary>Living feeds that are the viewer's to see and end: their own, those about them, for the office all.</summary>
    public static IQueryable<Feed> FeedsFor(this SchoolDb db, Viewer viewer) => db.Set<Feed>().Where(f => f.RevokedAt == null
        && (viewer.KeepsDiary || f.OwnerPersonId == viewer.PersonId
            || (f.InstructorId != null && f.InstructorId == viewer.InstructorId) || (f.PupilId != null && f.PupilId == viewer.PupilId)));
}
