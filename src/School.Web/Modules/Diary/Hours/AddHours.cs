using NodaTime;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Hours;

/// <summary>The same span on one or more weekdays; until further notice when it has no last date.</summary>
internal sealed record NewHours(IReadOnlyList<IsoDayOfWeek> Days, LocalTime Start, LocalTime End, LocalDate From, LocalDate? To = null)
{
    public static NewHours Of(HoursRequest span) => new([span.Day], span.Start, span.End, span.From, span.To);
}

/// <summary>Adds working hours: on all the days that were asked for, or on none.</summary>
internal sealed class AddHours(SchoolDb db, HoursEdit edit, Audit audit)
{
    public Task<Outcome<HoursChanged>> RunAsync(Viewer viewer, Guid instructorId, NewHours request, CancellationToken cancel) =>
        edit.InDiaryAsync(
            viewer,
            instructorId,
            (rows, name) =>
            {
                if (request.Days.Count == 0)
                {
                    return Refusal.Invalid(nameof(request.Days), "Choose at least one day.");
                }

                foreach (var day in request.Days.Distinct().Order())
                {
                    var span = new HoursRequest(day, request.Start, request.End, request.From, request.To);
                    if (HoursEdit.Problem(span, rows) is { } problem)
                    {
                        return problem;
                    }

                    var row = new WorkingHoursRow { InstructorId = instructorId, Day = day, Start = span.Start, End = span.End, From = span.From, To = span.To };
                    rows.Add(row);
                    db.Add(row);
                    audit.Note(viewer, "instructor.hours.add", instructorId, $"Added working hours of {name}: {HoursEdit.Words(row)}.");
                }

                return rows[^1];
            },
            cancel);
}
