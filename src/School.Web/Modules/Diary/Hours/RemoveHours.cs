using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Hours;

/// <summary>Removes one span of working hours.</summary>
internal sealed class RemoveHours(SchoolDb db, HoursEdit edit, Audit audit)
{
    public Task<Outcome<HoursChanged>> RunAsync(Viewer viewer, Guid instructorId, Guid hoursId, CancellationToken cancel) =>
        edit.InDiaryAsync(
            viewer,
            instructorId,
            (rows, name) =>
            {
                var taken = rows.Take(hoursId, null, HoursEdit.Span);
                if (taken is not { Value: { } row })
                {
                    return taken;
                }

                db.Remove(row);
                audit.Note(viewer, "instructor.hours.remove", instructorId, $"Removed working hours of {name}: {HoursEdit.Words(row)}.");
                return row;
            },
            cancel);
}
