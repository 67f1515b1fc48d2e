using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Cars;

/// <summary>Changes a period that runs or is to come.</summary>
internal sealed class ChangeOffRoad(SchoolDb db, Audit audit, IClock clock)
{
    public Task<Outcome<OffRoadPeriod>> RunAsync(Viewer viewer, Guid carId, Guid offRoadId, OffRoadInput input, int? expected, CancellationToken cancel) =>
        db.InTransactionAsync<OffRoadPeriod>(async cancel =>
        {
            var taken = await db.Set<OffRoadPeriod>().Where(o => o.CarId == carId).TakeAsync(offRoadId, expected, "period off the road", cancel);
            if (!taken.Ok)
            {
                return taken;
            }

            var (period, now) = (taken.Value, clock.GetCurrentInstant());
            if (period.EndsAt <= now)
            {
                return PutBackOnRoad.Over;
            }

            var reason = input.Read(now);
            if (!reason.Ok)
            {
                return reason.Refusal;
            }

            (period.StartsAt, period.EndsAt, period.Reason) = (input.Start!.Value, input.End, reason.Value);
            var label = await db.Set<Car>().Where(c => c.Id == carId).Select(c => c.Label).SingleAsync(cancel);
            audit.NoteValues(viewer, "car.off_road.change", carId, $"Changed a time off the road of the {label}", period);
            return period;
        }, cancel);
}
