using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.People.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Travel;

internal sealed record LegEndJson(string Label, double Latitude, double Longitude);

internal sealed record RecordedLegJson(Guid Id, Guid InstructorId, LegEndJson From, LegEndJson To, Instant Left, Instant Arrived, double Minutes)
{
    public static RecordedLegJson Of(RecordedDrive drive) => new(
        drive.Id, drive.InstructorId, new(drive.FromLabel, drive.FromLatitude, drive.FromLongitude), new(drive.ToLabel, drive.ToLatitude, drive.ToLongitude),
        drive.LeftAt, drive.ArrivedAt!.Value, Math.Round((drive.ArrivedAt.Value - drive.LeftAt).TotalMinutes, 1));
}

internal static class LegEndpoints
{
    public static void MapLegs(this IEndpointRouteBuilder app)
    {
        var legs = app.MapApi("instructors/{id:guid}/legs").WithTags("travel");
        legs.MapGet("", ListAsync).Needs(Permission.DriveTheDay)
            .WithName("ListLegs").WithSummary("Recorded drives, in the order in which they were entered; own, or anybody's for the office.")
            .Produces<Page<RecordedLegJson>>().ProducesProblem(400).ProducesProblem(404);
        legs.MapPost("", AddAsync).Needs(Permission.DriveTheDay).WithIdempotency()
            .WithName("RecordLeg").WithSummary("Records a drive that is over. Of the places only the position is needed.")
            .Produces<RecordedLegJson>(201).ProducesProblem(400).ProducesProblem(404).ProducesProblem(409);
        legs.MapGet("{legId:guid}", GetAsync).Needs(Permission.DriveTheDay)
            .WithName("GetLeg").WithSummary("One recorded drive.").Produces<RecordedLegJson>().ProducesProblem(404);
        legs.MapDelete("{legId:guid}", RemoveAsync).Needs(Permission.DriveTheDay).WithIdempotency()
            .WithName("RemoveLeg").WithSummary("Takes back a drive that was recorded wrongly.").Produces(204).ProducesProblem(404);
    }

    private static async Task<IResult> ListAsync(
        Guid id, int? limit, string? cursor, SchoolDb db, InstructorBook instructors, Viewer viewer, CancellationToken cancel) =>
        viewer.MayRecordFor(id) && await instructors.FindAsync(id, cancel) is not null
            ? (await db.Set<RecordedDrive>().AsNoTracking().Where(d => d.InstructorId == id && d.ArrivedAt != null)
                .PageByIdAsync(limit, cursor, RecordedLegJson.Of, cancel)).ToResult()
            : Refusal.NotFound("instructor").ToProblem();

    private static async Task<IResult> GetAsync(Guid id, Guid legId, HttpContext context, SchoolDb db, Viewer viewer, CancellationToken cancel) =>
        viewer.MayRecordFor(id)
        && await db.Set<RecordedDrive>().AsNoTracking().SingleOrDefaultAsync(d => d.Id == legId && d.InstructorId == id && d.ArrivedAt != null, cancel) is { } drive
            ? ETags.Ok(context, drive, RecordedLegJson.Of(drive))
            : Refusal.NotFound("drive").ToProblem();

    private static async Task<IResult> AddAsync(Guid id, LegRequest request, HttpContext context, RecordLeg record, Viewer viewer, CancellationToken cancel) =>
        (await record.RunAsync(viewer, id, request, cancel)).ToResult(drive => ETags.Created(
            context, drive, $"{ApiSetup.Prefix}/instructors/{id}/legs/{drive.Id}", RecordedLegJson.Of(drive)));

    private static async Task<IResult> RemoveAsync(Guid id, Guid legId, RemoveLeg remove, Viewer viewer, CancellationToken cancel) =>
        (await remove.RunAsync(viewer, id, legId, cancel)).ToResult(_ => Results.NoContent());
}
