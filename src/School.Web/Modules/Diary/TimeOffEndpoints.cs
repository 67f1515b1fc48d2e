using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.People.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary;

internal sealed record TimeOffJson(Guid Id, Guid InstructorId, Instant Start, Instant End, string Reason, IReadOnlyList<Guid> Affected)
{
    public static TimeOffJson Of(TimeOffRow row, IReadOnlyList<Guid> affected) => new(row.Id, row.InstructorId, row.StartsAt, row.EndsAt, row.Reason, affected);
}

internal static class TimeOffEndpoints
{
    public static void MapTimeOff(this IEndpointRouteBuilder app)
    {
        var off = app.MapApi("instructors/{id:guid}/time-off").WithTags("instructors");
        off.MapGet("", ListAsync).Needs(Permission.ChangeHours)
            .WithName("ListTimeOff").WithSummary("Time off, in the order in which it was entered; own, or anybody's for the office.")
            .Produces<Page<TimeOffJson>>().ProducesProblem(400).ProducesProblem(404);
        off.MapPost("", AddAsync).Needs(Permission.ChangeHours).WithIdempotency()
            .WithName("AddTimeOff").WithSummary("Enters time off. The answer names the booked lessons in it.")
            .Produces<TimeOffJson>(201).ProducesProblem(400).ProducesProblem(404).ProducesProblem(409);
        off.MapDelete("{timeOffId:guid}", RemoveAsync).Needs(Permission.ChangeHours).WithIdempotency()
            .WithName("RemoveTimeOff").WithSummary("Removes time off.").Produces(204).ProducesProblem(404);
    }

    private static async Task<IResult> ListAsync(
        Guid id, int? limit, string? cursor, SchoolDb db, InstructorBook instructors, Viewer viewer, CancellationToken cancel) =>
        viewer.KeepsDiaryOf(id) && await instructors.FindAsync(id, cancel) is not null
            ? (await db.Set<TimeOffRow>().AsNoTracking().Where(o => o.InstructorId == id).PageByIdAsync(limit, cursor, o => TimeOffJson.Of(o, []), cancel)).ToResult()
            : Refusal.NotFound("instructor").ToProblem();

    private static async Task<IResult> AddAsync(Guid id, TimeOffRequest request, HttpContext context, AddTimeOff add, Viewer viewer, CancellationToken cancel) =>
        (await add.RunAsync(id, request, viewer, cancel)).ToResult(done => ETags.Created(
            context, done.Row, $"{ApiSetup.Prefix}/instructors/{id}/time-off/{done.Row.Id}", TimeOffJson.Of(done.Row, done.Affected)));

    private static async Task<IResult> RemoveAsync(Guid id, Guid timeOffId, RemoveTimeOff remove, Viewer viewer, CancellationToken cancel) =>
        (await remove.RunAsync(id, timeOffId, viewer, cancel)).ToResult(_ => Results.NoContent());
}
