using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Hours;

/// <summary>Changes one span of working hours.</summary>
internal sealed class ChangeHours(HoursEdit edit, Audit audit)
{
    public Task<Outcome<HoursChanged>> RunAsync(Viewer viewer, Guid instructorId, Guid hoursId, HoursRequest request, int? expected, CancellationToken cancel) =>
        edit.InDiaryAsync(
            viewer,
            instructorId,
            (rows, name) =>
            {
                var taken = rows.Take(hoursId, expected, HoursEdit.Span);
                if (taken is not { Value: { } row })
                {
                    return taken;
                }

                if (HoursEdit.Problem(request, rows.Where(r => r != row)) is { } problem)
                {
                    return problem;
                }

                (row.Day, row.Start, row.End, row.From, row.To) = (request.Day, request.Start, request.End, request.From, request.To);
                audit.NoteValues(viewer, "instructor.hours.change", instructorId, $"Changed working hours of {name}", row);
                return row;
            },
            cancel);
}
