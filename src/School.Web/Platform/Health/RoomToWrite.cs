using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Diagnostics.HealthChecks;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.LocalPostgres;

namespace School.Web.Platform.Health;

/// <summary>Remembers that the database had no room for a write, until one goes through again.</summary>
internal sealed class FullDisk
{
    private volatile bool full;

    public bool IsFull => full;

    /// <summary>Always false: for an exception filter that only listens.</summary>
    public bool Heard(Exception exception)
    {
        full |= ErrorHandling.IsDatabaseFull(exception);
        return false;
    }

    public void Gone() => full = false;
}

/// <summary>
/// Not ready while the disk of the database is full. Reading still works then, but every booking would fail: the proxy should say
/// so at once. Where the database is our own, the room left is looked at; elsewhere, a write that found none is.
/// </summary>
internal sealed class RoomToWrite(SchoolDb db, FullDisk disk, IConfiguration configuration, IHostEnvironment host) : IHealthCheck
{
    private const long Megabyte = 1024 * 1024;

    /// <summary>Two segments of PostgreSQL's write-ahead log (16 MB each by default): without room for them the server stops.</summary>
    private const long TooLittle = 32 * Megabyte;

    private const long Little = 512 * Megabyte;
    private const int ProbeOctets = 64 * 1024;

    public async Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken = default)
    {
        if (disk.IsFull && !await TakesAsync(cancellationToken))
        {
            return HealthCheckResult.Unhealthy("The disk of the database is full.");
        }

        disk.Gone();
        return LocalPostgresSetup.IsPrivate(configuration)
            ? Of(new DriveInfo(LocalPostgresSetup.DataFolder(configuration, host)).AvailableFreeSpace)
            : HealthCheckResult.Healthy();
    }

    internal static HealthCheckResult Of(long free) => free switch
    {
        < TooLittle => HealthCheckResult.Unhealthy($"The disk of the data folder is full: {free / Megabyte} MB are left."),
        < Little => HealthCheckResult.Degraded($"The disk of the data folder is nearly full: {free / Megabyte} MB are left."),
        _ => HealthCheckResult.Healthy(),
    };

    /// <summary>Writes enough to need new pages, and takes it back.</summary>
    private async Task<bool> TakesAsync(CancellationToken cancel)
    {
        try
        {
            await using var transaction = await db.Database.BeginTransactionAsync(cancel);
            var body = new byte[ProbeOctets];
            Random.Shared.NextBytes(body);
            await db.Database.ExecuteSqlAsync(
                $"""
                 INSERT INTO platform.idempotent_answers (person_id, key, request_hash, status, body, at)
                 VALUES ({Guid.Empty}, {"room to write " + Guid.NewGuid()}, '', 0, {body}, now())
                 """, cancel);
            await transaction.RollbackAsync(cancel);
            return true;
        }
        catch (Exception problem) when (ErrorHandling.IsDatabaseFull(problem))
        {
            return false;
        }
    }
}
