using System.Text.Json.Serialization;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Diary;

/// <summary>Time off between two moments.</summary>
internal sealed record TimeOffRequest([property: JsonRequired] Instant Start, [property: JsonRequired] Instant End, string? Reason = null);

/// <summary>The same as somebody types it, in the school's local time.</summary>
internal sealed record LocalTimeOff(LocalDateTime Start, LocalDateTime End, string? Reason = null);

/// <summary>The row, and the booked lessons that can no longer take place.</summary>
internal sealed record TimeOffAdded(TimeOffRow Row, IReadOnlyList<Guid> Affected);

/// <summary>Enters time off. Booked lessons in it stay, are told at once, and wait on the office's list.</summary>
internal sealed class AddTimeOff(SchoolDb db, InstructorBook instructors, SchoolInfo school, Audit audit, IClock clock)
{
    public const int LongestReason = 200;

    // Covers a long illness; a wrong year is caught.
    private static readonly Duration Furthest = Duration.FromDays(1100);

    public async Task<Outcome<TimeOffAdded>> RunAsync(Guid instructorId, LocalTimeOff request, Viewer viewer, CancellationToken cancel)
    {
        var zone = (await school.GetAsync(cancel)).Zone;
        var errors = new FieldErrors();
        var start = errors.ReadStart(nameof(request.Start), request.Start, zone);
        var end = errors.ReadEnd(nameof(request.End), request.End, zone);
        return errors.ToRefusal() is { } invalid ? invalid : await RunAsync(instructorId, new TimeOffRequest(start, end, request.Reason), viewer, cancel);
    }

    public async Task<Outcome<TimeOffAdded>> RunAsync(Guid instructorId, TimeOffRequest request, Viewer viewer, CancellationToken cancel)
    {
        if (!viewer.KeepsDiaryOf(instructorId) || await instructors.FindAsync(instructorId, cancel) is not { } instructor)
        {
            return Refusal.NotFound("instructor");
        }

        var now = clock.GetCurrentInstant();
        var errors = new FieldErrors()
            .When(request.End <= request.Start, nameof(request.End), "The end must be after the start.")
            .When(request.End > request.Start && request.End <= now && request.Start >= now - Furthest, nameof(request.End), "This time is already past.")
            .When(request.Start < now - Furthest || request.Start > now + Furthest, nameof(request.Start), "That is too far from today. Look at the year.")
            .When(request.End > now + Furthest, nameof(request.End), "That is too far from today. Look at the year.");
        var reason = errors.ReadLine(nameof(request.Reason), request.Reason, LongestReason);
        if (errors.ToRefusal() is { } invalid)
        {
            return invalid;
        }

        return await db.InTransactionAsync<TimeOffAdded>(
            async cancel =>
            {
                var row = new TimeOffRow { InstructorId = instructorId, StartsAt = request.Start, EndsAt = request.End, Reason = reason };
                db.Add(row);
                var zone = (await school.GetAsync(cancel)).Zone;
                audit.Note(viewer, "instructor.time_off.add", instructorId, $"Added time off of {instructor.Name}, {row.Days(zone)}.");
                var affected = await db.Set<Lesson>().AsNoTracking()
                    .Where(l => l.InstructorId == instructorId && l.State == LessonState.Booked && l.StartsAt < request.End && l.EndsAt > request.Start && l.EndsAt > now)
                    .OrderBy(l => l.StartsAt).Select(l => l.Id).ToListAsync(cancel);
                return new TimeOffAdded(row, affected);
            },
            cancel);
    }
}
