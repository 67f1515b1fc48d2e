using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Travel.Contracts;

/// <summary>From where a drive leads where.</summary>
internal sealed record DriveEnds(Place From, Place To);

/// <summary>Begins a drive. One whose arrival was never told is dropped: nobody knows how long it took.</summary>
internal sealed class BeginDrive(SchoolDb db, IClock clock)
{
    public Task<Outcome<DriveUnderWay>> RunAsync(Viewer viewer, Guid instructorId, DriveEnds ends, CancellationToken cancel) =>
        db.InTransactionAsync<DriveUnderWay>(
            async cancel =>
            {
                if (!viewer.MayRecordFor(instructorId))
                {
                    return Refusal.NotFound("instructor");
                }

                await db.LockAsync([$"drive:{instructorId}"], cancel);
                await db.Set<RecordedDrive>().Where(d => d.InstructorId == instructorId && d.ArrivedAt == null).ExecuteDeleteAsync(cancel);
                var drive = new RecordedDrive
                {
                    InstructorId = instructorId,
                    FromLabel = ends.From.Label,
                    FromLatitude = ends.From.Latitude,
                    FromLongitude = ends.From.Longitude,
                    ToLabel = ends.To.Label,
                    ToLatitude = ends.To.Latitude,
                    ToLongitude = ends.To.Longitude,
                    LeftAt = clock.GetCurrentInstant(),
                };
                db.Add(drive);
                return new DriveUnderWay(drive.FromLabel, drive.ToLabel, drive.LeftAt);
            },
            cancel);
}
