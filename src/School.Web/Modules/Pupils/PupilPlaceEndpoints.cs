using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Places.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Pupils;

/// <summary>A place of a pupil's own; <c>areaId</c> is where its postcode district lies.</summary>
internal sealed record PupilPlaceView(Guid Id, string Label, string Address, string Postcode, double? Latitude, double? Longitude, PlaceCertainty Certainty, Guid? AreaId)
{
    public static PupilPlaceView Of(PupilPlace row, Guid? areaId) => PlaceView.Of(row.At) is var at
        ? new(row.Id, at.Label, at.Address, at.Postcode, at.Latitude, at.Longitude, at.Certainty, areaId) : null!;
}

internal static class PupilPlaceEndpoints
{
    public static void MapPupilPlaces(this IEndpointRouteBuilder app)
    {
        var places = app.MapApi("pupils").MapGroup("{id:guid}/places");
        places.MapGet("", ListAsync).Needs(Permission.OwnDetails).OfPupil(Sight.ByReason).WithName("ListPupilPlaces").WithSummary("The places that a pupil named: home, school, work.")
            .Produces<Page<PupilPlaceView>>().ProducesProblem(400).ProducesProblem(404);
        places.MapPost("", AddAsync).Needs(Permission.OwnDetails).WithIdempotency().WithName("AddPupilPlace").WithSummary("Names a place of a pupil's own.")
            .Produces<PupilPlaceView>(201).ProducesProblem(400).ProducesProblem(404).ProducesProblem(422);
        places.MapPut("{placeId:guid}", ChangeAsync).Needs(Permission.OwnDetails).WithIdempotency().WithName("ChangePupilPlace").WithSummary("Changes a place of a pupil's own; wants If-Match.")
            .Produces<PupilPlaceView>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(412).ProducesProblem(428);
        places.MapGet("{placeId:guid}", GetAsync).Needs(Permission.OwnDetails).OfPupil(Sight.ByReason).WithName("GetPupilPlace").WithSummary("One place of a pupil's own, with its ETag.")
            .Produces<PupilPlaceView>().ProducesProblem(404);
        places.MapDelete("{placeId:guid}", RemoveAsync).Needs(Permission.OwnDetails).WithIdempotency().WithName("RemovePupilPlace")
            .WithSummary("Removes a place of a pupil's own; lessons that were booked there keep it. If-Match is honoured when sent.")
            .Produces(204).ProducesProblem(404).ProducesProblem(412);
    }

    private static async Task<IResult> ListAsync(Guid id, int? limit, string? cursor, SchoolDb db, AreaBook areas, Viewer viewer, CancellationToken cancel)
    {
        if (!await db.Set<Pupil>().VisibleTo(viewer).AnyAsync(p => p.Id == id, cancel))
        {
            return Refusal.NotFound("pupil").ToProblem();
        }

        var rows = await db.Set<PupilPlace>().AsNoTracking().Where(p => p.PupilId == id).PageByIdAsync(limit, cursor, row => row, cancel);
        var lie = await areas.OfAsync(rows.Value?.Items.Select(row => row.At) ?? [], cancel);
        return rows.ToResult(page => Results.Ok(new Page<PupilPlaceView>([.. page.Items.Select(row => PupilPlaceView.Of(row, lie.Of(row.At)))], page.Next)));
    }

    private static async Task<IResult> GetAsync(Guid id, Guid placeId, HttpContext context, SchoolDb db, AreaBook areas, Viewer viewer, CancellationToken cancel)
    {
        var seen = db.Set<Pupil>().VisibleTo(viewer).Where(p => p.Id == id).Select(p => p.Id);
        return await db.Set<PupilPlace>().AsNoTracking().SingleOrDefaultAsync(p => p.Id == placeId && seen.Contains(p.PupilId), cancel) is { } row
            ? ETags.OkWithMore(context, row.Version, PupilPlaceView.Of(row, (await areas.OfAsync([row.At], cancel)).Of(row.At)))
            : Refusal.NotFound("place").ToProblem();
    }

    private static async Task<IResult> AddAsync(Guid id, PlaceInput input, HttpContext context, AddPupilPlace add, AreaBook areas, Viewer viewer, CancellationToken cancel)
    {
        var added = await add.RunAsync(viewer, id, input, cancel);
        var lie = await areas.OfAsync(added.Value is { } place ? [place.At] : [], cancel);
        return added.ToResult(row => ETags.Created(context, row, $"{ApiSetup.Prefix}/pupils/{id}/places/{row.Id}", PupilPlaceView.Of(row, lie.Of(row.At))));
    }

    private static async Task<IResult> ChangeAsync(Guid id, Guid placeId, PlaceInput input, HttpContext context, ChangePupilPlace change, AreaBook areas, Viewer viewer, CancellationToken cancel)
    {
        if (ETags.Missing(context) is { } missing)
        {
            return missing;
        }

        var changed = await change.RunAsync(viewer, placeId, new(id, input), ETags.Wanted(context), cancel);
        var lie = await areas.OfAsync(changed.Value is { } place ? [place.At] : [], cancel);
        return changed.ToRow(context, row => PupilPlaceView.Of(row, lie.Of(row.At)));
    }

    private static async Task<IResult> RemoveAsync(Guid id, Guid placeId, HttpContext context, RemovePupilPlace remove, Viewer viewer, CancellationToken cancel) =>
        (await remove.RunAsync(viewer, placeId, new(id, null), ETags.Wanted(context), cancel)).ToResult(_ => Results.NoContent());
}
