using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Cars;

/// <summary>From when, until when where it is known, and why.</summary>
internal sealed record OffRoadInput(Instant? Start, Instant? End, string? Reason);

internal sealed class TakeOffRoad(SchoolDb db, Audit audit, Viewer viewer, IClock clock)
{
    private const int LongestReason = 100;
    private static readonly Duration Furthest = Duration.FromDays(3 * 366);

    public Task<Outcome<OffRoadPeriod>> RunAsync(Guid carId, OffRoadInput input, CancellationToken cancel) => db.InTransactionAsync<OffRoadPeriod>(async cancel =>
    {
        if (await db.Set<Car>().AsNoTracking().SingleOrDefaultAsync(c => c.Id == carId, cancel) is not { } car)
        {
            return Refusal.NotFound("car");
        }

        var now = clock.GetCurrentInstant();
        var errors = new FieldErrors();
        var reason = errors.ReadLine(nameof(input.Reason), input.Reason, LongestReason, "Say why, such as service or repair.");
        errors.When(input.Start is null, nameof(input.Start), "Enter when it begins.");
        errors.When(input.Start < now - Furthest || input.Start > now + Furthest, nameof(input.Start), "This is more than three years away. Check the year.");
        errors.When(input.End <= input.Start, nameof(input.End), "The end must be after the start.");
        errors.When(input.End > now + Furthest, nameof(input.End), "This is more than three years away. Leave the end open where nobody knows yet.");
        if (errors.ToRefusal() is { } refusal)
        {
            return refusal;
        }

        audit.Note(viewer, "car.off_road", carId, $"Took the {car.Label} off the road: {reason}.");
        return db.Add(new OffRoadPeriod { CarId = carId, StartsAt = input.Start!.Value, EndsAt = input.End, Reason = reason }).Entity;
    }, cancel);
}

/// <summary>Drops a period to come, or ends the one that runs; what is over stays as history.</summary>
internal sealed class PutBackOnRoad(SchoolDb db, Audit audit, Viewer viewer, IClock clock)
{
    public Task<Outcome<OffRoadPeriod>> RunAsync(Guid carId, Guid offRoadId, CancellationToken cancel) => db.InTransactionAsync<OffRoadPeriod>(async cancel =>
    {
        var period = await db.Set<OffRoadPeriod>().SingleOrDefaultAsync(o => o.Id == offRoadId && o.CarId == carId, cancel);
        if (period is null)
        {
            return Refusal.NotFound("period off the road");
        }

        var now = clock.GetCurrentInstant();
        if (period.EndsAt <= now)
        {
            return Refusal.Rule("off_road_over", "This is over already; it stays as history.");
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
