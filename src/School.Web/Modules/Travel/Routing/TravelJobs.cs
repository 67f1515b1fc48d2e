using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Platform.Database;

namespace School.Web.Modules.Travel.Routing;

/// <summary>Finds out that a routing server is back, so that the warning goes also when nobody asks for new drives.</summary>
internal sealed class TryRoutingAgain(RoadDrives drives)
{
    public const string Job = "travel-try-routing-again";

    public Task RunAsync(CancellationToken cancel) => drives.TryAgainAsync(cancel);
}

/// <summary>Deletes what is too old to be used, a bounded number of rows at a time.</summary>
internal sealed class ClearOldTravel(SchoolDb db, RoutingSettings settings, IClock clock)
{
    public const string Job = "travel-clear-old";
    public const int MostRows = 5_000;

    public async Task<int> RunAsync(CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        var (drives, legs) = (now - settings.Keep, now - RecordedDrive.Kept);
        return await ClearAsync($"DELETE FROM travel.drives WHERE ctid IN (SELECT ctid FROM travel.drives WHERE asked_at <= {drives} LIMIT {MostRows})", cancel)
            + await ClearAsync($"DELETE FROM travel.legs WHERE ctid IN (SELECT ctid FROM travel.legs WHERE left_at <= {legs} LIMIT {MostRows})", cancel);
    }

    private Task<int> ClearAsync(FormattableString sql, CancellationToken cancel) => db.AloneAsync(() => db.Database.ExecuteSqlAsync(sql, cancel), cancel);
}
