using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People;

/// <summary>The areas that an instructor serves; none means every place.</summary>
internal sealed record ServedAreasView(Guid InstructorId, IReadOnlyList<Guid> AreaIds)
{
    public static ServedAreasView Of(Instructor row) => new(row.Id, row.Serves);
}

internal static class ServedAreaEndpoints
{
    public static void MapServedAreas(this IEndpointRouteBuilder app)
    {
        var areas = app.MapApi("instructors/{id:guid}/areas").WithTags("instructors");
        areas.MapGet("", GetAsync).Needs(Permission.SeeInstructors).WithName("GetServedAreas")
            .WithSummary("The areas that an instructor serves, with the instructor's ETag; none means every place.")
            .Produces<ServedAreasView>().ProducesProblem(404);
        areas.MapPut("", ChangeAsync).Needs(Permission.ChangeHours).WithIdempotency().WithName("ServeAreas")
            .WithSummary("Says which areas an instructor serves: the office of anybody, an instructor of themselves. Wants If-Match.")
            .Produces<ServedAreasView>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(412).ProducesProblem(428);
    }

    private static async Task<IResult> GetAsync(Guid id, HttpContext context, SchoolDb db, CancellationToken cancel) =>
        await db.Set<Instructor>().AsNoTracking().SingleOrDefaultAsync(i => i.Id == id, cancel) is { } row
            ? ETags.Ok(context, row, ServedAreasView.Of(row))
            : Refusal.NotFound("instructor").ToProblem();

    private static async Task<IResult> ChangeAsync(Guid id, ServedAreasInput input, HttpContext context, ServeAreas serve, Viewer viewer, CancellationToken cancel) =>
        ETags.Missing(context) ?? (await serve.RunAsync(viewer, id, input, ETags.Wanted(context), cancel)).ToRow(context, ServedAreasView.Of);
}
