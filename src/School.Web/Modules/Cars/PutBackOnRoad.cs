using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Cars;

/// <summary>Drops a period to come, or ends the one that runs; what is over stays as history.</summary>
internal sealed class PutBackOnRoad(SchoolDb db, Audit audit, IClock clock)
{
    public static readonly Refusal Over = Refusal.Rule("off_road_over", "This is over already; it stays as history.");

    public Task<Outcome<OffRoadPeriod>> RunAsync(Viewer viewer, Guid carId, Guid offRoadId, CancellationToken cancel) => db.InTransactionAsync<OffRoadPeriod>(async cancel =>
    {
        var period = await db.Set<OffRoadPeriod>().SingleOrDefaultAsync(o => o.Id == offRoadId && o.CarId == carId, cancel);
        if (period is null)
        {
            return Refusal.NotFound("period off the road");
        }

        var now = clock.GetCurrentInstant();
        if (period.EndsAt <= now)
        {
            return Over;
        }

        if (period.StartsAt >= now)
        {
            db.Remove(period);
        }
        else
        {
            period.EndsAt = now;
        }

        audit.Note(viewer, "car.back_on_road", carId, $"Put back on the road what was off it: {period.Reason}.");
        return period;
    }, cancel);
}
