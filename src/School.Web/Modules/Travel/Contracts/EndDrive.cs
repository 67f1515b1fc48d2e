using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Travel.Contracts;

/// <summary>Ends the drive under way; its outcome is how many minutes it took.</summary>
internal sealed class EndDrive(SchoolDb db, IClock clock)
{
    public Task<Outcome<int>> RunAsync(Viewer viewer, Guid instructorId, CancellationToken cancel) =>
        db.InTransactionAsync<int>(
            async cancel =>
            {
                if (!viewer.MayRecordFor(instructorId))
                {
                    return Refusal.NotFound("instructor");
                }

                await db.LockAsync([$"drive:{instructorId}"], cancel);
                var drive = await db.Set<RecordedDrive>().SingleOrDefaultAsync(d => d.InstructorId == instructorId && d.ArrivedAt == null, cancel);
                if (drive is null)
                {
                    return Refusal.Rule("no_drive_under_way", "No drive is under way. Nothing was recorded.");
                }

                var minutes = (clock.GetCurrentInstant() - drive.LeftAt).TotalMinutes;
                if (minutes is <= 0 or > RecordedDrive.LongestMinutes)
                {
                    return Refusal.Rule("drive_too_long", "This drive began more than four hours ago, so its arrival was not recorded. Start the next one when you leave.");
                }

                drive.ArrivedAt = clock.GetCurrentInstant();
                return (int)Math.Ceiling(minutes);
            },
            cancel);
}
