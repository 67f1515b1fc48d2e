using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Cars;

/// <summary>From when, until when where it is known, and why.</summary>
internal sealed record OffRoadInput(
    [property: Needed] Instant? Start, Instant? End, [property: Needed, AtMost(OffRoadInput.LongestReason)] string? Reason)
{
    public const int LongestReason = 100;
    private static readonly Duration Furthest = Duration.FromDays(3 * 366);

    /// <summary>The reason as it is kept, once all is found to be possible.</summary>
    public Outcome<string> Read(Instant now)
    {
        var errors = new FieldErrors();
        var reason = errors.ReadLine(nameof(Reason), Reason, LongestReason, "Say why, such as service or repair.");
        errors.When(Start is null, nameof(Start), "Enter when it begins.");
        errors.When(Start < now - Furthest || Start > now + Furthest, nameof(Start), "This is more than three years away. Check the year.");
        errors.When(End <= Start, nameof(End), "The end must be after the start.");
        errors.When(End > now + Furthest, nameof(End), "This is more than three years away. Leave the end open where nobody knows yet.");
        return errors.ToRefusal() is { } refusal ? refusal : reason;
    }
}

internal sealed class TakeOffRoad(SchoolDb db, Audit audit, IClock clock)
{
    public Task<Outcome<OffRoadPeriod>> RunAsync(Viewer viewer, Guid carId, OffRoadInput input, CancellationToken cancel) => db.InTransactionAsync<OffRoadPeriod>(async cancel =>
    {
        if (await db.Set<Car>().AsNoTracking().SingleOrDefaultAsync(c => c.Id == carId, cancel) is not { } car)
        {
            return Refusal.NotFound("car");
        }

        var reason = input.Read(clock.GetCurrentInstant());
        if (!reason.Ok)
        {
            return reason.Refusal;
        }

        audit.Note(viewer, "car.off_road", carId, $"Took the {car.Label} off the road: {reason.Value}.");
        return db.Add(new OffRoadPeriod { CarId = carId, StartsAt = input.Start!.Value, EndsAt = input.End, Reason = reason.Value }).Entity;
    }, cancel);
}
