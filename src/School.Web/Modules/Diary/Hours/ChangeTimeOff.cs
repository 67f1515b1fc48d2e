using NodaTime;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Hours;

/// <summary>Changes time off that is running or ahead; what is over stays as history.</summary>
internal sealed class ChangeTimeOff(SchoolDb db, InstructorBook instructors, Audit audit, IClock clock)
{
    public async Task<Outcome<TimeOffAdded>> RunAsync(
        Viewer viewer, Guid instructorId, Guid timeOffId, TimeOffRequest request, int? expected, CancellationToken cancel)
    {
        if (!viewer.KeepsDiaryOf(instructorId) || await instructors.FindAsync(instructorId, cancel) is not { } instructor)
        {
            return Refusal.NotFound("instructor");
        }

        var now = clock.GetCurrentInstant();
        return await db.InTransactionAsync<TimeOffAdded>(
            async cancel =>
            {
                var taken = await db.Set<TimeOffRow>().Where(o => o.InstructorId == instructorId).TakeAsync(timeOffId, expected, "time off", cancel);
                if (!taken.Ok)
                {
                    return taken.Refusal;
                }

                var row = taken.Value;
                if (row.EndsAt <= now)
                {
                    return Refusal.Rule("time_off_over", "This time off is over; it stays as history.");
                }

                var reason = request.Read(now);
                if (!reason.Ok)
                {
                    return reason.Refusal;
                }

                (row.StartsAt, row.EndsAt, row.Reason) = (request.Start, request.End, reason.Value);
                audit.NoteValues(viewer, "instructor.time_off.change", instructorId, $"Changed time off of {instructor.Name}", row);
                return await TimeOffAdded.OfAsync(db, row, now, cancel);
            },
            cancel);
    }
}
