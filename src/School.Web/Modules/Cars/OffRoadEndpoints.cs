using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Cars;

internal sealed record OffRoadView(Guid Id, Guid CarId, Instant Start, Instant? End, string Reason)
{
    public static OffRoadView Of(OffRoadPeriod period) => new(period.Id, period.CarId, period.StartsAt, period.EndsAt, period.Reason);
}

internal static class OffRoadEndpoints
{
    public static void MapOffRoadEndpoints(this IEndpointRouteBuilder app)
    {
        var periods = app.MapApi("cars").MapGroup("{id:guid}/off-road");
        periods.MapGet("", ListAsync).Needs(Permission.SeeCars).WithName("ListOffRoad").WithSummary("When the car cannot be driven.")
            .Produces<Page<OffRoadView>>().ProducesProblem(400).ProducesProblem(404);
        periods.MapPost("", AddAsync).Needs(Permission.ManageCars).WithIdempotency().WithName("TakeOffRoad")
            .WithSummary("Takes the car off the road for a period, open-ended where nobody knows yet.")
            .Produces<OffRoadView>(201).ProducesProblem(400).ProducesProblem(404);
        periods.MapGet("{offRoadId:guid}", GetAsync).Needs(Permission.SeeCars).WithName("GetOffRoad").WithSummary("One period off the road, with its ETag.")
            .Produces<OffRoadView>().ProducesProblem(404);
        periods.MapPut("{offRoadId:guid}", ChangeAsync).Needs(Permission.ManageCars).WithIdempotency().WithName("ChangeOffRoad")
            .WithSummary("Changes a period that runs or is to come; wants If-Match.")
            .Produces<OffRoadView>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(412).ProducesProblem(422).ProducesProblem(428);
        periods.MapDelete("{offRoadId:guid}", EndAsync).Needs(Permission.ManageCars).WithIdempotency().WithName("PutBackOnRoad")
            .WithSummary("Drops a period to come or ends the one that runs.").Produces(204).ProducesProblem(404).ProducesProblem(422);
    }

    private static async Task<IResult> ListAsync(Guid id, int? limit, string? cursor, SchoolDb db, CancellationToken cancel)
    {
        var car = await db.Set<Car>().AsNoTracking().Include(c => c.OffRoad).SingleOrDefaultAsync(c => c.Id == id, cancel);
        return car is null
            ? Refusal.NotFound("car").ToProblem()
            : car.OffRoad.OrderBy(o => o.StartsAt).ThenBy(o => o.Id).Select(OffRoadView.Of).ToList().PageOf(limit, cursor, o => o.Id.ToString()).ToResult();
    }

    private static async Task<IResult> AddAsync(Guid id, OffRoadInput input, HttpContext context, TakeOffRoad take, Viewer viewer, CancellationToken cancel) =>
        (await take.RunAsync(viewer, id, input, cancel)).ToResult(made => ETags.Created(context, made, $"{ApiSetup.Prefix}/cars/{id}/off-road/{made.Id}", OffRoadView.Of(made)));

    private static async Task<IResult> GetAsync(Guid id, Guid offRoadId, HttpContext context, SchoolDb db, CancellationToken cancel) =>
        await FindAsync(id, offRoadId, db, cancel) is { } period ? ETags.Ok(context, period, OffRoadView.Of(period)) : Refusal.NotFound("period off the road").ToProblem();

    private static async Task<IResult> ChangeAsync(
        Guid id, Guid offRoadId, OffRoadInput input, HttpContext context, ChangeOffRoad change, Viewer viewer, CancellationToken cancel) =>
        ETags.Missing(context)
        ?? (await change.RunAsync(viewer, id, offRoadId, input, ETags.Wanted(context), cancel)).ToRow(context, OffRoadView.Of);

    private static Task<OffRoadPeriod?> FindAsync(Guid id, Guid offRoadId, SchoolDb db, CancellationToken cancel) =>
        db.Set<OffRoadPeriod>().AsNoTracking().SingleOrDefaultAsync(o => o.Id == offRoadId && o.CarId == id, cancel);

    private static async Task<IResult> EndAsync(Guid id, Guid offRoadId, PutBackOnRoad back, Viewer viewer, CancellationToken cancel) =>
        (await back.RunAsync(viewer, id, offRoadId, cancel)).ToResult(_ => Results.NoContent());
}
