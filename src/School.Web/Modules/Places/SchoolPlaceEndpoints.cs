using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Places.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Places;

/// <summary>A place of the school; <c>areaId</c> is where its postcode district lies, or that of the nearest postcode.</summary>
internal sealed record SchoolPlaceView(Guid Id, PlaceKind Kind, PlaceView At, Guid? AreaId)
{
    public static SchoolPlaceView Of(SchoolPlace row, Guid? area) => new(row.Id, row.Kind, PlaceView.Of(row.At), area);
}

internal static class SchoolPlaceEndpoints
{
    public static void MapSchoolPlaces(this IEndpointRouteBuilder app)
    {
        var places = app.MapApi("places");
        places.MapGet("", ListAsync).Needs(Permission.SeeLessons).WithName("ListPlaces").WithSummary("The places that the school knows: test centres, stations, schools.")
            .Produces<Page<SchoolPlaceView>>().ProducesProblem(400);
        places.MapPost("", AddAsync).Needs(Permission.ManageSchool).WithIdempotency().WithName("AddPlace").WithSummary("Adds a place of the school.")
            .Produces<SchoolPlaceView>(201).ProducesProblem(400).ProducesProblem(422);
        places.MapGet("{id:guid}", GetAsync).Needs(Permission.SeeLessons).WithName("GetPlace").WithSummary("One place of the school, with its ETag.")
            .Produces<SchoolPlaceView>().ProducesProblem(404);
        places.MapPut("{id:guid}", ChangeAsync).Needs(Permission.ManageSchool).WithIdempotency().WithName("ChangePlace").WithSummary("Changes a place of the school; wants If-Match.")
            .Produces<SchoolPlaceView>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(412).ProducesProblem(428);
        places.MapDelete("{id:guid}", RemoveAsync).Needs(Permission.ManageSchool).WithIdempotency().WithName("RemovePlace")
            .WithSummary("Removes a place of the school; lessons that were booked there keep it. If-Match is honoured when sent.")
            .Produces(204).ProducesProblem(404).ProducesProblem(412);
    }

    private static async Task<IResult> ListAsync(SchoolDb db, AreaBook areas, int? limit, string? cursor, CancellationToken cancel)
    {
        var rows = await db.Set<SchoolPlace>().AsNoTracking().PageByIdAsync(limit, cursor, row => row, cancel);
        var lie = await areas.OfAsync(rows.Value?.Items.Select(row => row.At) ?? [], cancel);
        return rows.ToResult(page => Results.Ok(new Page<SchoolPlaceView>([.. page.Items.Select(row => SchoolPlaceView.Of(row, lie.Of(row.At)))], page.Next)));
    }

    private static async Task<IResult> AddAsync(SchoolPlaceInput input, HttpContext context, AreaBook areas, AddPlace add, Viewer viewer, CancellationToken cancel)
    {
        var added = await add.RunAsync(viewer, input, cancel);
        var lie = await areas.OfAsync(added.Value is { } place ? [place.At] : [], cancel);
        return added.ToResult(row => ETags.Created(context, row, $"{ApiSetup.Prefix}/places/{row.Id}", SchoolPlaceView.Of(row, lie.Of(row.At))));
    }

    private static async Task<IResult> GetAsync(Guid id, HttpContext context, SchoolDb db, AreaBook areas, CancellationToken cancel)
    {
        var row = await db.Set<SchoolPlace>().AsNoTracking().SingleOrDefaultAsync(p => p.Id == id, cancel);
        return row is null
            ? Refusal.NotFound("place").ToProblem()
            : ETags.OkWithMore(context, row.Version, SchoolPlaceView.Of(row, (await areas.OfAsync([row.At], cancel)).Of(row.At)));
    }

    private static async Task<IResult> ChangeAsync(Guid id, SchoolPlaceInput input, HttpContext context, AreaBook areas, ChangePlace change, Viewer viewer, CancellationToken cancel)
    {
        if (ETags.Missing(context) is { } missing)
        {
            return missing;
        }

        var changed = await change.RunAsync(viewer, id, input, ETags.Wanted(context), cancel);
        var lie = await areas.OfAsync(changed.Value is { } place ? [place.At] : [], cancel);
        return changed.ToRow(context, row => SchoolPlaceView.Of(row, lie.Of(row.At)));
    }

    private static async Task<IResult> RemoveAsync(Guid id, HttpContext context, RemovePlace remove, Viewer viewer, CancellationToken cancel) =>
        (await remove.RunAsync(viewer, id, ETags.Wanted(context), cancel)).ToResult(_ => Results.NoContent());
}
