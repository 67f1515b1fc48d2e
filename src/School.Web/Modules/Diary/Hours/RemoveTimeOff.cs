using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Hours;

internal sealed class RemoveTimeOff(SchoolDb db, InstructorBook instructors, SchoolInfo school, Audit audit)
{
    public Task<Outcome<TimeOffRow>> RunAsync(Viewer viewer, Guid instructorId, Guid timeOffId, CancellationToken cancel) =>
        db.InTransactionAsync<TimeOffRow>(
            async cancel =>
            {
                var row = await db.Set<TimeOffRow>().SingleOrDefaultAsync(o => o.Id == timeOffId && o.InstructorId == instructorId, cancel);
                if (row is null || !viewer.KeepsDiaryOf(instructorId))
                {
                    return Refusal.NotFound("time off");
                }

                db.Remove(row);
                var (zone, instructor) = ((await school.GetAsync(cancel)).Zone, await instructors.FindAsync(instructorId, cancel));
                audit.Note(viewer, "instructor.time_off.remove", instructorId, $"Removed time off of {instructor?.Name}, {row.Days(zone)}.");
                return row;
            },
            cancel);
}
