using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Cars;

/// <summary>A period with a holder; <c>Standing</c> when it was given without an end, though dated days may have cut it.</summary>
internal sealed record HoldingView(Guid Id, Guid CarId, Guid InstructorId, LocalDate From, LocalDate? To, bool Standing)
{
    public static HoldingView Of(Holding holding) =>
        new(holding.Id, holding.CarId, holding.InstructorId, holding.From, holding.To, holding.Standing);
}

internal static class HoldingEndpoints
{
    public static void MapHoldingEndpoints(this IEndpointRouteBuilder app)
    {
        var holdings = app.MapApi("cars").MapGroup("{id:guid}/holdings");
        holdings.MapGet("", ListAsync).Needs(Permission.SeeCars).WithName("ListHoldings").WithSummary("Who holds the car when, in order of days.")
            .Produces<Page<HoldingView>>().ProducesProblem(400).ProducesProblem(404);
        holdings.MapGet("{holdingId:guid}", GetAsync).Needs(Permission.SeeCars).WithName("GetHolding").WithSummary("One period in which somebody holds the car.")
            .Produces<HoldingView>().ProducesProblem(404);
        holdings.MapPost("", AddAsync).Needs(Permission.ManageCars).WithIdempotency().WithName("HoldCar")
            .WithSummary("Gives the car to an instructor; dated days cut a standing holding in two around them.")
            .Produces<HoldingView>(201).ProducesProblem(400).ProducesProblem(404).ProducesProblem(409).ProducesProblem(422);
        holdings.MapDelete("{holdingId:guid}", EndAsync).Needs(Permission.ManageCars).WithIdempotency().WithName("EndHolding")
            .WithSummary("Ends a holding after ?lastDay=, or from today; days that were held stay as history.")
            .Produces(204).ProducesProblem(400).ProducesProblem(404).ProducesProblem(422);
    }

    private static async Task<IResult> ListAsync(Guid id, int? limit, string? cursor, SchoolDb db, CancellationToken cancel)
    {
        var car = await db.Set<Car>().AsNoTracking().Include(c => c.Holdings).SingleOrDefaultAsync(c => c.Id == id, cancel);
        return car is null
            ? Refusal.NotFound("car").ToProblem()
            : car.Holdings.OrderBy(h => h.From).ThenBy(h => h.Id).Select(HoldingView.Of).ToList().PageOf(limit, cursor, h => h.Id.ToString()).ToResult();
    }

    private static async Task<IResult> GetAsync(Guid id, Guid holdingId, SchoolDb db, CancellationToken cancel) =>
        await db.Set<Holding>().AsNoTracking().SingleOrDefaultAsync(h => h.Id == holdingId && h.CarId == id, cancel) is { } holding
            ? Results.Ok(HoldingView.Of(holding))
            : Refusal.NotFound("holding").ToProblem();

    private static async Task<IResult> AddAsync(Guid id, HoldingInput input, HoldCar hold, Viewer viewer, CancellationToken cancel) =>
        (await hold.RunAsync(viewer, id, input, cancel)).ToResult(made => Results.Created($"{ApiSetup.Prefix}/cars/{id}/holdings/{made.Id}", HoldingView.Of(made)));

    private static async Task<IResult> EndAsync(Guid id, Guid holdingId, QueryDate? lastDay, EndHolding end, Viewer viewer, CancellationToken cancel) =>
        (await end.RunAsync(viewer, id, holdingId, lastDay?.Date, cancel)).ToResult(_ => Results.NoContent());
}
