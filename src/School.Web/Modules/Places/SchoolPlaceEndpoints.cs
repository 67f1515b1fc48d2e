using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Places.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Places;

/// <summary>A place of the school; <c>areaId</c> is where its postcode district lies.</summary>
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
        var byDistrict = await areas.ByDistrictAsync(cancel);
        return (await db.Set<SchoolPlace>().AsNoTracking().PageByIdAsync(limit, cursor, row => SchoolPlaceView.Of(row, byDistrict.Of(row.At.Postcode)), cancel)).ToResult();
    }

    private static async Task<IResult> AddAsync(SchoolPlaceInput input, HttpContext context, AreaBook areas, AddPlace add, Viewer viewer, CancellationToken cancel)
    {
        var byDistrict = await areas.ByDistrictAsync(cancel);
        return (await add.RunAsync(viewer, input, cancel)).ToResult(
            row => ETags.Created(context, row, $"{ApiSetup.Prefix}/places/{row.Id}", SchoolPlaceView.Of(row, byDistrict.Of(row.At.Postcode))));
    }

    private static async Task<IResult> GetAsync(Guid id, HttpContext context, SchoolDb db, AreaBook areas, CancellationToken cancel)
    {
        var byDistrict = await areas.ByDistrictAsync(cancel);
        return await db.Set<SchoolPlace>().AsNoTracking().SingleOrDefaultAsync(p => p.Id == id, cancel) is { } row
            ? ETags.OkWithMore(context, row.Version, SchoolPlaceView.Of(row, byDistrict.Of(row.At.Postcode)))
            : Refusal.NotFound("place").ToProblem();
    }

    private static async Task<IResult> ChangeAsync(Guid id, SchoolPlaceInput input, HttpContext context, AreaBook areas, ChangePlace change, Viewer viewer, CancellationToken cancel)
    {
        if (ETags.Missing(context) is { } missing)
        {
            return missing;
        }

        var byDistrict = await areas.ByDistrictAsync(cancel);
        return (await change.RunAsync(viewer, id, input, ETags.Wanted(context), cancel)).ToRow(context, row => SchoolPlaceView.Of(row, byDistrict.Of(row.At.Postcode)));
    }

    private static async Task<IResult> RemoveAsync(Guid id, HttpContext context, RemovePlace remove, Viewer viewer, CancellationToken cancel) =>
        (await remove.RunAsync(viewer, id, ETags.Wanted(context), cancel)).ToResult(_ => Results.NoContent());
}
