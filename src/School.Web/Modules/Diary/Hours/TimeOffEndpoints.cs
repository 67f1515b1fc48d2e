using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Hours;

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
        off.MapGet("{timeOffId:guid}", GetAsync).Needs(Permission.ChangeHours)
            .WithName("GetTimeOff").WithSummary("One entry of time off, with its ETag.").Produces<TimeOffJson>().ProducesProblem(404);
        off.MapPut("{timeOffId:guid}", ChangeAsync).Needs(Permission.ChangeHours).WithIdempotency()
            .WithName("ChangeTimeOff").WithSummary("Changes time off that is not over; wants If-Match. The answer names the booked lessons in it.")
            .Produces<TimeOffJson>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(409).ProducesProblem(412).ProducesProblem(422).ProducesProblem(428);
        off.MapDelete("{timeOffId:guid}", RemoveAsync).Needs(Permission.ChangeHours).WithIdempotency()
            .WithName("RemoveTimeOff").WithSummary("Removes time off.").Produces(204).ProducesProblem(404);
    }

    private static async Task<IResult> ListAsync(
        Guid id, int? limit, string? cursor, SchoolDb db, InstructorBook instructors, Viewer viewer, CancellationToken cancel) =>
        viewer.KeepsDiaryOf(id) && await instructors.FindAsync(id, cancel) is not null
            ? (await db.Set<TimeOffRow>().AsNoTracking().Where(o => o.InstructorId == id).PageByIdAsync(limit, cursor, o => TimeOffJson.Of(o, []), cancel)).ToResult()
            : Refusal.NotFound("instructor").ToProblem();

    private static async Task<IResult> AddAsync(Guid id, TimeOffRequest request, HttpContext context, AddTimeOff add, Viewer viewer, CancellationToken cancel) =>
        (await add.RunAsync(viewer, id, request, cancel)).ToResult(done => ETags.Created(
            context, done.Row, $"{ApiSetup.Prefix}/instructors/{id}/time-off/{done.Row.Id}", TimeOffJson.Of(done.Row, done.Affected)));

    private static async Task<IResult> GetAsync(Guid id, Guid timeOffId, HttpContext context, SchoolDb db, Viewer viewer, CancellationToken cancel) =>
        await FindAsync(id, timeOffId, db, viewer, cancel) is { } row ? ETags.Ok(context, row, TimeOffJson.Of(row, [])) : Refusal.NotFound("time off").ToProblem();

    private static async Task<IResult> ChangeAsync(
        Guid id, Guid timeOffId, TimeOffRequest request, HttpContext context, ChangeTimeOff change, Viewer viewer, CancellationToken cancel) =>
        ETags.Missing(context) ?? (await change.RunAsync(viewer, id, timeOffId, request, ETags.Wanted(context), cancel)).ToResult(
            done => ETags.Ok(context, done.Row, TimeOffJson.Of(done.Row, done.Affected)));

    private static async Task<TimeOffRow?> FindAsync(Guid id, Guid timeOffId, SchoolDb db, Viewer viewer, CancellationToken cancel) => viewer.KeepsDiaryOf(id)
        ? await db.Set<TimeOffRow>().AsNoTracking().SingleOrDefaultAsync(o => o.Id == timeOffId && o.InstructorId == id, cancel)
        : null;

    private static async Task<IResult> RemoveAsync(Guid id, Guid timeOffId, RemoveTimeOff remove, Viewer viewer, CancellationToken cancel) =>
        (await remove.RunAsync(viewer, id, timeOffId, cancel)).ToResult(_ => Results.NoContent());
}
