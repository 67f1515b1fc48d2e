using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Travel.Contracts;

/// <summary>A drive that has begun.</summary>
internal sealed record DriveUnderWay(string From, string To, Instant LeftAt);

/// <summary>A drive that has begun; it is under way without an arrival.</summary>
internal sealed record LastDrive(string From, string To, Instant LeftAt, Instant? ArrivedAt);

/// <summary>Two taps of a parked instructor make a recorded drive, leaving and arrived (<see cref="BeginDrive"/>, <see cref="EndDrive"/>). At most one is under way.</summary>
internal sealed class DriveLog(SchoolDb db)
{
    /// <summary>The drive that began last on a date, under way or over.</summary>
    public async Task<LastDrive?> LastAsync(Guid instructorId, LocalDate date, DateTimeZone zone, CancellationToken cancel)
    {
        var (from, until) = (zone.AtStartOfDay(date).ToInstant(), zone.AtStartOfDay(date.PlusDays(1)).ToInstant());
        return await db.Set<RecordedDrive>().AsNoTracking().Where(d => d.InstructorId == instructorId && d.LeftAt >= from && d.LeftAt < until)
            .OrderByDescending(d => d.LeftAt).ThenByDescending(d => d.Id).Select(d => new LastDrive(d.FromLabel, d.ToLabel, d.LeftAt, d.ArrivedAt)).FirstOrDefaultAsync(cancel);
    }

    /// <summary>Drops the drive under way, if there is one.</summary>
    public Task ForgetAsync(Guid instructorId, CancellationToken cancel) =>
        db.AloneAsync(() => db.Set<RecordedDrive>().Where(d => d.InstructorId == instructorId && d.ArrivedAt == null).ExecuteDeleteAsync(cancel), cancel);
}
