using System.Text.Json.Serialization;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary.Cover;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Covers;

internal sealed record NewCover(
    Guid? InstructorId, Guid? CarId, [property: JsonRequired] Instant Start, [property: JsonRequired] Instant End, string? Reason = null, int MayMoveMinutes = 0)
{
    public CoverRequest ToRequest() => new(InstructorId, CarId, Start, End, Reason, MayMoveMinutes);
}

internal sealed record CoverCostJson(int Uncovered, int Moved, int MinutesMoved, int Changed, int AddedDrivingMinutes)
{
    public static CoverCostJson Of(CoverCost cost) => new(cost.Uncovered, cost.Moved, cost.MinutesMoved, cost.Changed, cost.AddedDriving);
}

internal sealed record CoverPlaceJson(Guid InstructorId, Guid CarId, Instant Start);

internal sealed record CoverLineJson(Guid LessonId, CoverPlaceJson? Proposed, IReadOnlyList<CoverWhyNot> WhyNot)
{
    public static CoverLineJson Of(CoverAnswerLine line) => new(
        line.LessonId, line.IsCovered ? new(line.InstructorId!.Value, line.CarId!.Value, line.Start!.Value) : null, line.WhyNot);
}

internal sealed record CoverProgressJson(int Done, int Of);

internal sealed record CoverJson(
    Guid Id, Guid? InstructorId, Guid? CarId, Instant Start, Instant End, string Reason, int MayMoveMinutes, CoverState State, CoverProgressJson Progress,
    IReadOnlyList<CoverLineJson>? Lines, CoverCostJson? Cost, CoverCostJson? Bound, bool? Proven)
{
    public static CoverJson Of(CoverPlan plan)
    {
        var answer = CoverAnswer.Read(plan.Answer);
        return new(
            plan.Id, plan.InstructorId, plan.CarId, plan.StartsAt, plan.EndsAt, plan.Reason, plan.MayMoveMinutes, plan.State, new(plan.Done, plan.Of),
            answer?.Lines.Select(CoverLineJson.Of).ToList(), answer is null ? null : CoverCostJson.Of(answer.Cost),
            answer is null ? null : CoverCostJson.Of(answer.Bound), answer?.IsProven);
    }
}

internal static class CoverEndpoints
{
    public static void MapCovers(this IEndpointRouteBuilder app)
    {
        var covers = app.MapApi("covers");
        covers.MapGet("", ListAsync).Needs(Permission.ArrangeCover)
            .WithName("ListCovers").WithSummary("Plans for cover, in the order in which they were asked for.").Produces<Page<CoverJson>>().ProducesProblem(400);
        covers.MapPost("", PlanAsync).Needs(Permission.ArrangeCover).WithIdempotency()
            .WithName("PlanCover")
            .WithSummary("Finds who takes the lessons of an instructor who is ill or a car that is off the road. Changes nothing yet. State working: read it again in a moment.")
            .Produces<CoverJson>(201).ProducesProblem(400).ProducesProblem(404).ProducesProblem(422);
        covers.MapGet("{id:guid}", GetAsync).Needs(Permission.ArrangeCover)
            .WithName("GetCover").WithSummary("One plan: how far it has come, or who takes what and why not.").Produces<CoverJson>().ProducesProblem(404);
        covers.MapPost("{id:guid}/apply", ApplyAsync).Needs(Permission.ArrangeCover).WithIdempotency()
            .WithName("ApplyCover")
            .WithSummary("Carries a plan out, or only the lessons named; 409 cover_stale when the diary has changed, and then the plan holds a new proposal.")
            .Produces<CoverJson>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(409).ProducesProblem(412).ProducesProblem(422);
        covers.MapDelete("{id:guid}", StopAsync).Needs(Permission.ArrangeCover).WithIdempotency()
            .WithName("StopCover").WithSummary("Drops a plan, also while it is worked out.").Produces(204).ProducesProblem(404).ProducesProblem(409);
    }

    private static async Task<IResult> ListAsync(int? limit, string? cursor, SchoolDb db, CancellationToken cancel) =>
        (await db.Set<CoverPlan>().AsNoTracking().PageByIdAsync(limit, cursor, CoverJson.Of, cancel)).ToResult();

    private static async Task<IResult> PlanAsync(NewCover request, HttpContext context, PlanCover plan, Viewer viewer, CancellationToken cancel) =>
        (await plan.RunAsync(request.ToRequest(), viewer, cancel)).ToResult(
            made => ETags.Created(context, made, $"{ApiSetup.Prefix}/covers/{made.Id}", CoverJson.Of(made)));

    private static async Task<IResult> GetAsync(Guid id, HttpContext context, SchoolDb db, CancellationToken cancel) =>
        await db.Set<CoverPlan>().AsNoTracking().SingleOrDefaultAsync(c => c.Id == id, cancel) is { } plan
            ? ETags.Ok(context, plan, CoverJson.Of(plan))
            : Refusal.NotFound("plan for cover").ToProblem();

    private static async Task<IResult> ApplyAsync(
        Guid id, ApplyCoverRequest? request, HttpContext context, ApplyCover apply, Viewer viewer, CancellationToken cancel) =>
        (await apply.RunAsync(id, request ?? new(), ETags.Wanted(context), viewer, cancel)).ToRow(context, CoverJson.Of);

    private static async Task<IResult> StopAsync(Guid id, StopCover stop, CancellationToken cancel) =>
        (await stop.RunAsync(id, cancel)).ToResult(_ => Results.NoContent());
}
