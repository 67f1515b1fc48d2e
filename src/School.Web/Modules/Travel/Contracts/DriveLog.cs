using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Travel.Contracts;

/// <summary>A drive that has begun.</summary>
internal sealed record DriveUnderWay(string From, string To, Instant LeftAt);

/// <summary>Two taps of a parked instructor make a recorded drive: leaving, and arrived. At most one is under way.</summary>
internal sealed class DriveLog(SchoolDb db, IClock clock)
{
    public async Task<DriveUnderWay?> UnderWayAsync(Guid instructorId, CancellationToken cancel) =>
        await db.Set<RecordedDrive>().AsNoTracking().Where(d => d.InstructorId == instructorId && d.ArrivedAt == null)
            .Select(d => new DriveUnderWay(d.FromLabel, d.ToLabel, d.LeftAt)).SingleOrDefaultAsync(cancel);

    /// <summary>Begins a drive. One whose arrival was never told is dropped: nobody knows how long it took.</summary>
    public Task<Outcome<DriveUnderWay>> LeaveAsync(Guid instructorId, Place from, Place to, CancellationToken cancel) =>
        db.InTransactionAsync<DriveUnderWay>(
            async cancel =>
            {
                await db.LockAsync([$"drive:{instructorId}"], cancel);
                await db.Set<RecordedDrive>().Where(d => d.InstructorId == instructorId && d.ArrivedAt == null).ExecuteDeleteAsync(cancel);
                var drive = new RecordedDrive
                {
                    InstructorId = instructorId,
                    FromLabel = from.Label,
                    FromLatitude = from.Latitude,
                    FromLongitude = from.Longitude,
                    ToLabel = to.Label,
                    ToLatitude = to.Latitude,
                    ToLongitude = to.Longitude,
                    LeftAt = clock.GetCurrentInstant(),
                };
                db.Add(drive);
                return new DriveUnderWay(drive.FromLabel, drive.ToLabel, drive.LeftAt);
            },
            cancel);

    /// <summary>Ends the drive under way; returns its minutes.</summary>
    public Task<Outcome<int>> ArriveAsync(Guid instructorId, CancellationToken cancel) =>
        db.InTransactionAsync<int>(
            async cancel =>
            {
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

    /// <summary>Drops the drive under way, if there is one.</summary>
    public Task ForgetAsync(Guid instructorId, CancellationToken cancel) =>
        db.Set<RecordedDrive>().Where(d => d.InstructorId == instructorId && d.ArrivedAt == null).ExecuteDeleteAsync(cancel);
}
