using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Places;

internal sealed record AreaView(Guid Id, string Name, IReadOnlyList<string> Districts)
{
    public static AreaView Of(Area area) => new(area.Id, area.Name, [.. area.Districts.Select(d => d.District).Order(StringComparer.Ordinal)]);
}

internal static class AreaEndpoints
{
    public static void MapAreas(this IEndpointRouteBuilder app)
    {
        var areas = app.MapApi("areas");
        areas.MapGet("", ListAsync).Needs(Permission.SeeLessons).WithName("ListAreas").WithSummary("The areas of the school, each some postcode districts.")
            .Produces<Page<AreaView>>().ProducesProblem(400);
        areas.MapPost("", AddAsync).Needs(Permission.ManageSchool).WithIdempotency().WithName("AddArea").WithSummary("Adds an area; a district lies in one at most.")
            .Produces<AreaView>(201).ProducesProblem(400);
        areas.MapGet("{id:guid}", GetAsync).Needs(Permission.SeeLessons).WithName("GetArea").WithSummary("One area, with its ETag.")
            .Produces<AreaView>().ProducesProblem(404);
        areas.MapPut("{id:guid}", ChangeAsync).Needs(Permission.ManageSchool).WithIdempotency().WithName("ChangeArea").WithSummary("Changes an area; wants If-Match.")
            .Produces<AreaView>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(412).ProducesProblem(428);
        areas.MapDelete("{id:guid}", RemoveAsync).Needs(Permission.ManageSchool).WithIdempotency().WithName("RemoveArea")
            .WithSummary("Removes an area; its districts are then in none. If-Match is honoured when sent.")
            .Produces(204).ProducesProblem(404).ProducesProblem(412);
    }

    private static async Task<IResult> ListAsync(SchoolDb db, int? limit, string? cursor, CancellationToken cancel) =>
        (await db.Set<Area>().AsNoTracking().Include(a => a.Districts).PageByIdAsync(limit, cursor, AreaView.Of, cancel)).ToResult();

    private static async Task<IResult> AddAsync(AreaInput input, HttpContext context, AddArea add, Viewer viewer, CancellationToken cancel) =>
        (await add.RunAsync(viewer, input, cancel)).ToResult(area => ETags.Created(context, area, $"{ApiSetup.Prefix}/areas/{area.Id}", AreaView.Of(area)));

    private static async Task<IResult> GetAsync(Guid id, HttpContext context, SchoolDb db, CancellationToken cancel) =>
        await db.Set<Area>().AsNoTracking().Include(a => a.Districts).SingleOrDefaultAsync(a => a.Id == id, cancel) is { } area
            ? ETags.Ok(context, area, AreaView.Of(area))
            : Refusal.NotFound("area").ToProblem();

    private static async Task<IResult> ChangeAsync(Guid id, AreaInput input, HttpContext context, ChangeArea change, Viewer viewer, CancellationToken cancel) =>
        ETags.Missing(context) ?? (await change.RunAsync(viewer, id, input, ETags.Wanted(context), cancel)).ToRow(context, AreaView.Of);

    private static async Task<IResult> RemoveAsync(Guid id, HttpContext context, RemoveArea remove, Viewer viewer, CancellationToken cancel) =>
        (await remove.RunAsync(viewer, id, ETags.Wanted(context), cancel)).ToResult(_ => Results.NoContent());
}
