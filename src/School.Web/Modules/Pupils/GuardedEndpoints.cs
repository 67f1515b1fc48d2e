using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Pupils;

internal sealed record GuardedView(Guid PupilId, string? DriverNumber, string? HealthNotes, string? TheoryCertificate);

internal static class GuardedEndpoints
{
    public static void MapGuardedEndpoints(this IEndpointRouteBuilder app)
    {
        var guarded = app.MapApi("pupils").MapGroup("{id:guid}/guarded");
        guarded.MapGet("", ReadAsync).Needs(Permission.SeeGuarded).WithName("ReadGuarded")
            .WithSummary("Driver number, health notes and the number of the theory certificate. A pupil reads their own; a read by staff leaves a line in the audit.")
            .Produces<GuardedView>().ProducesProblem(404);
        guarded.MapPut("", ChangeAsync).Needs(Permission.ChangeGuarded).WithIdempotency().WithName("ChangeGuarded")
            .WithSummary("Changes driver number, health notes and certificate number, all at once; wants If-Match.")
            .Produces(204).ProducesProblem(400).ProducesProblem(404).ProducesProblem(412).ProducesProblem(428);
    }

    private static async Task<IResult> ReadAsync(Guid id, HttpContext context, ReadGuarded read, Viewer viewer, CancellationToken cancel) =>
        (await read.RunAsync(viewer, id, cancel)).ToResult(found => ETags.Ok(context, found.Pupil, new GuardedView(id, found.DriverNumber, found.HealthNotes, found.TheoryCertificate)));

    private static async Task<IResult> ChangeAsync(Guid id, GuardedInput input, HttpContext context, ChangeGuarded change, Viewer viewer, CancellationToken cancel) =>
        ETags.Missing(context) ?? (await change.RunAsync(viewer, id, input, ETags.Wanted(context), cancel)).ToResult(changed =>
        {
            // Not echoed: an answer that is kept for repeats would hold what is guarded in clear.
            context.Response.Headers.ETag = ETags.Of(changed);
            return Results.NoContent();
        });
}
