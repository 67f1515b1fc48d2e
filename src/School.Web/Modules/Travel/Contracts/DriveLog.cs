using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Travel.Contracts;

/// <summary>A drive that has begun.</summary>
internal sealed record DriveUnderWay(string From, string To, Instant LeftAt);

/// <summary>Two taps of a parked instructor make a recorded drive, leaving and arrived (<see cref="BeginDrive"/>, <see cref="EndDrive"/>). At most one is under way.</summary>
internal sealed class DriveLog(SchoolDb db)
{
    public async Task<DriveUnderWay?> UnderWayAsync(Guid instructorId, CancellationToken cancel) =>
        await db.Set<RecordedDrive>().AsNoTracking().Where(d => d.InstructorId == instructorId && d.ArrivedAt == null)
            .Select(d => new DriveUnderWay(d.FromLabel, d.ToLabel, d.LeftAt)).SingleOrDefaultAsync(cancel);

    /// <summary>Drops the drive under way, if there is one.</summary>
    public Task ForgetAsync(Guid instructorId, CancellationToken cancel) =>
        db.AloneAsync(() => db.Set<RecordedDrive>().Where(d => d.InstructorId == instructorId && d.ArrivedAt == null).ExecuteDeleteAsync(cancel), cancel);
}
