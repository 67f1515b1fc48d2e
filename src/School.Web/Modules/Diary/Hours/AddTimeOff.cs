using System.Text.Json.Serialization;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Diary.Hours;

/// <summary>Time off between two moments.</summary>
internal sealed record TimeOffRequest([property: JsonRequired] Instant Start, [property: JsonRequired] Instant End, [property: AtMost(TimeOffRequest.LongestReason)] string? Reason = null)
{
    public const int LongestReason = 200;

    // Covers a long illness; a wrong year is caught.
    private static readonly Duration Furthest = Duration.FromDays(1100);

    /// <summary>The reason as it is kept, once all is found to be possible.</summary>
    public Outcome<string> Read(Instant now)
    {
        var errors = new FieldErrors()
            .When(End <= Start, nameof(End), "The end must be after the start.")
            .When(End > Start && End <= now && Start >= now - Furthest, nameof(End), "This time is already past.")
            .When(Start < now - Furthest || Start > now + Furthest, nameof(Start), "That is too far from today. Look at the year.")
            .When(End > now + Furthest, nameof(End), "That is too far from today. Look at the year.");
        var reason = errors.ReadLine(nameof(Reason), Reason, LongestReason);
        return errors.ToRefusal() is { } invalid ? invalid : reason;
    }
}

/// <summary>The same as somebody types it, in the school's local time.</summary>
internal sealed record LocalTimeOff(LocalDateTime Start, LocalDateTime End, string? Reason = null);

/// <summary>The row, and the booked lessons that can no longer take place.</summary>
internal sealed record TimeOffAdded(TimeOffRow Row, IReadOnlyList<Guid> Affected)
{
    public static async Task<TimeOffAdded> OfAsync(SchoolDb db, TimeOffRow row, Instant now, CancellationToken cancel) => new(
        row,
        await db.Set<Lesson>().AsNoTracking()
            .Where(l => l.InstructorId == row.InstructorId && l.State == LessonState.Booked && l.StartsAt < row.EndsAt && l.EndsAt > row.StartsAt && l.EndsAt > now)
            .OrderBy(l => l.StartsAt).Select(l => l.Id).ToListAsync(cancel));
}

/// <summary>Enters time off. Booked lessons in it stay, are told at once, and wait on the office's list.</summary>
internal sealed class AddTimeOff(SchoolDb db, InstructorBook instructors, SchoolInfo school, Audit audit, IClock clock)
{
    public async Task<Outcome<TimeOffAdded>> RunAsync(Viewer viewer, Guid instructorId, LocalTimeOff request, CancellationToken cancel)
    {
        var zone = (await school.GetAsync(cancel)).Zone;
        var errors = new FieldErrors();
        var start = errors.ReadStart(nameof(request.Start), request.Start, zone);
        var end = errors.ReadEnd(nameof(request.End), request.End, zone);
        return errors.ToRefusal() is { } invalid ? invalid : await RunAsync(viewer, instructorId, new TimeOffRequest(start, end, request.Reason), cancel);
    }

    public async Task<Outcome<TimeOffAdded>> RunAsync(Viewer viewer, Guid instructorId, TimeOffRequest request, CancellationToken cancel)
    {
        if (!viewer.KeepsDiaryOf(instructorId) || await instructors.FindAsync(instructorId, cancel) is not { } instructor)
        {
            return Refusal.NotFound("instructor");
        }

        var reason = request.Read(clock.GetCurrentInstant());
        if (!reason.Ok)
        {
            return reason.Refusal;
        }

        return await db.InTransactionAsync<TimeOffAdded>(
            async cancel =>
            {
                var row = new TimeOffRow { InstructorId = instructorId, StartsAt = request.Start, EndsAt = request.End, Reason = reason.Value };
                db.Add(row);
                var zone = (await school.GetAsync(cancel)).Zone;
                audit.Note(viewer, "instructor.time_off.add", instructorId, $"Added time off of {instructor.Name}, {row.Days(zone)}.");
                return await TimeOffAdded.OfAsync(db, row, clock.GetCurrentInstant(), cancel);
            },
            cancel);
    }
}
