using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Cars;
using School.Core.Diary;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People;

internal static class InstructorEndpoints
{
    public static void MapInstructors(this IEndpointRouteBuilder app)
    {
        var instructors = app.MapApi("instructors");
        instructors.MapGet("", ListAsync).Needs(Permission.SeeInstructors)
            .WithName("ListInstructors").WithSummary("All who teach; with retired=true also those who no longer do")
            .Produces<Page<InstructorView>>().ProducesProblem(400);
        instructors.MapPost("", AddAsync).Needs(Permission.ManageInstructors).WithIdempotency()
            .WithName("AddInstructor").WithSummary("Add an instructor")
            .Produces<InstructorView>(StatusCodes.Status201Created).ProducesProblem(400);
        instructors.MapGet("/{id:guid}", GetAsync).Needs(Permission.SeeInstructors)
            .WithName("GetInstructor").WithSummary("One instructor, with its ETag")
            .Produces<InstructorView>().ProducesProblem(404);
        instructors.MapPut("/{id:guid}", ChangeAsync).Needs(Permission.ManageInstructors).WithIdempotency()
            .WithName("ChangeInstructor").WithSummary("Change an instructor; wants If-Match")
            .Produces<InstructorView>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(412).ProducesProblem(428);
        instructors.MapPost("/{id:guid}/retire", RetireAsync).Needs(Permission.ManageInstructors).WithIdempotency()
            .WithName("RetireInstructor").WithSummary("Say from which day an instructor teaches no more, or null to take it back; wants If-Match")
            .Produces<InstructorView>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(412).ProducesProblem(428);
    }

    private static async Task<IResult> ListAsync(int? limit, string? cursor, bool? retired, SchoolDb db, Viewer viewer, CancellationToken cancel) =>
        (await db.Set<Instructor>().AsNoTracking().Where(i => retired == true || i.RetiredOn == null)
            .PageByIdAsync(limit, cursor, i => InstructorView.Of(i, viewer), cancel)).ToResult();

    private static async Task<IResult> GetAsync(Guid id, SchoolDb db, Viewer viewer, HttpContext context, CancellationToken cancel) =>
        await db.Set<Instructor>().AsNoTracking().SingleOrDefaultAsync(i => i.Id == id, cancel) is { } row
            ? ETags.Ok(context, row, InstructorView.Of(row, viewer))
            : NotFound();

    private static async Task<IResult> AddAsync(InstructorInput input, AddInstructor add, Viewer viewer, HttpContext context, CancellationToken cancel) =>
        (await add.RunAsync(viewer, input, cancel)).ToResult(
            row => ETags.Created(context, row, $"{ApiSetup.Prefix}/instructors/{row.Id}", InstructorView.Of(row, viewer)));

    private static async Task<IResult> ChangeAsync(
        Guid id, InstructorInput input, ChangeInstructor change, Viewer viewer, HttpContext context, CancellationToken cancel) =>
        ETags.Missing(context) ?? (await change.RunAsync(viewer, id, input, ETags.Wanted(context), cancel)).ToRow(context, row => InstructorView.Of(row, viewer));

    private static async Task<IResult> RetireAsync(
        Guid id, Retirement retirement, RetireInstructor retire, Viewer viewer, HttpContext context, CancellationToken cancel) =>
        ETags.Missing(context)
        ?? (await retire.RunAsync(viewer, id, retirement.On, ETags.Wanted(context), cancel)).ToRow(context, row => InstructorView.Of(row, viewer));

    private static IResult NotFound() => Refusal.NotFound("instructor").ToProblem();

    internal sealed record Retirement(LocalDate? On);
}

/// <summary>An instructor as the API tells it. Where somebody lives and their papers are for the office and themselves.</summary>
internal sealed record InstructorView(
    Guid Id, string Name, string Email, string Phone, IReadOnlyList<Gearbox> Teaches, RegistrationKind? Registration, string? RegistrationNumber,
    LocalDate? RegisteredFrom, LocalDate? RegisteredTo, PlaceView? Base, int? DailyTeachingMinutes, LocalDate? RetiredOn,
    TraineeOption? TraineeOption, LocalDate? AppliedAgainOn, IReadOnlyList<string>? StillNeeded, IReadOnlyList<Guid> AreaIds)
{
    public static InstructorView Of(Instructor row, Viewer viewer)
    {
        var all = viewer.KeepsDiary || viewer.May(Permission.ManageInstructors) || viewer.InstructorId == row.Id;
        return new(
            row.Id, row.Name, row.Email, row.Phone, row.Teaches, row.Registration, all ? row.RegistrationNumber : null,
            all ? row.RegisteredFrom : null, all ? row.RegisteredTo : null, all ? PlaceView.Known(row.Base) : null, row.DailyTeachingMinutes, row.RetiredOn,
            all ? row.TraineeOption : null, all ? row.AppliedAgainOn : null, all ? [.. row.StillNeeded().Select(need => need.Name)] : null, row.Serves);
    }
}
