using System.Text.Json.Serialization;
using NodaTime;
using School.Core;
using School.Core.Diary.Cover;
using School.Web.Modules.Diary.Proposals;
using School.Web.Platform.Access;
using School.Web.Platform.Api;

namespace School.Web.Modules.Diary.Covers;

internal sealed record NewCover(
    Guid? InstructorId, Guid? CarId, [property: JsonRequired] Instant Start, [property: JsonRequired] Instant End,
    [property: AtMost(PlanCover.LongestReason)] string? Reason = null, [property: Between(0, PlanCover.FurthestMove)] int MayMoveMinutes = 0)
{
    public CoverRequest ToRequest() => new(InstructorId, CarId, Start, End, Reason, MayMoveMinutes);
}

/// <summary>Added driving is null where a place of those days is still to be found.</summary>
internal sealed record CoverCostJson(int Uncovered, int Moved, int MinutesMoved, int Changed, int? AddedDrivingMinutes)
{
    public static CoverCostJson Of(CoverCost cost, bool drivesTold) => new(cost.Uncovered, cost.Moved, cost.MinutesMoved, cost.Changed, drivesTold ? cost.AddedDriving : null);
}

internal sealed record CoverPlaceJson(Guid InstructorId, Guid CarId, Instant Start);

/// <summary>A line of a cover; what is proposed stands also together, as older clients read it.</summary>
internal sealed record CoverLineJson(
    Guid Id, ProposalAct Act, Guid LessonId, Guid? InstructorId, Guid? CarId, Instant? Start, ProposalCharge? Charge, CoverPlaceJson? Proposed,
    IReadOnlyList<ProposalWhyNot> WhyNot)
{
    public static CoverLineJson Of(ProposalLine line) => new(
        line.Id, line.Act, line.Id, line.InstructorId, line.CarId, line.Start, line.Charge,
        line.Act is ProposalAct.Move ? new(line.InstructorId!.Value, line.CarId!.Value, line.Start!.Value) : null, line.WhyNot);
}

internal sealed record CoverJson(
    Guid Id, ProposalState State, Guid? InstructorId, Guid? CarId, Instant Start, Instant End, string? Reason, int MayMoveMinutes, ProposalProgressJson Progress,
    IReadOnlyList<CoverLineJson>? Lines, CoverCostJson? Cost, CoverCostJson? Bound, bool? Proven)
{
    public static CoverJson Of(Proposal proposal, ProposalState state)
    {
        var (ask, more) = (CoverRules.AskOf(proposal), CoverRules.MoreOf(proposal));
        return new(
            proposal.Id, state, ask.InstructorId, ask.CarId, ask.Start, ask.End, ask.Reason, ask.MayMoveMinutes, new(proposal.Done, proposal.Of),
            more is null ? null : [.. proposal.LinesOf().Select(CoverLineJson.Of)], more is null ? null : CoverCostJson.Of(more.Cost, more.DrivesTold),
            more is null ? null : CoverCostJson.Of(more.Bound, more.DrivesTold), more?.IsProven);
    }
}

internal static class CoverEndpoints
{
    private const string Address = "covers";

    public static void MapCovers(this IEndpointRouteBuilder app)
    {
        var covers = app.MapApi(Address);
        covers.MapGet("", ListAsync).Needs(Permission.ArrangeCover)
            .WithName("ListCovers").WithSummary("Proposals of cover, in the order in which they were asked for.").Produces<Page<CoverJson>>().ProducesProblem(400);
        covers.MapPost("", PlanAsync).Needs(Permission.ArrangeCover).WithIdempotency()
            .WithName("PlanCover")
            .WithSummary("Finds who takes the lessons of an instructor who is ill or a car that is off the road. Changes nothing yet. State working: read it again in a moment.")
            .Produces<CoverJson>(201).ProducesProblem(400).ProducesProblem(404).ProducesProblem(422);
        covers.MapProposals(ProposalKind.Cover, Permission.ArrangeCover, "Cover", TellAsync);
    }

    private static async Task<IResult> ListAsync(int? limit, string? cursor, ProposalReader reader, Viewer viewer, CancellationToken cancel) =>
        (await reader.VisibleTo(viewer).Where(p => p.Kind == ProposalKind.Cover).PageByIdAsync(limit, cursor, p => CoverJson.Of(p, p.State), cancel)).ToResult();

    private static async Task<IResult> PlanAsync(NewCover request, HttpContext context, PlanCover plan, Viewer viewer, CancellationToken cancel) =>
        await ProposalEndpoints.CreatedAsync(context, await plan.RunAsync(viewer, request.ToRequest(), cancel), Address, TellAsync, viewer, cancel);

    private static Task<CoverJson> TellAsync(ProposalContext context) => Task.FromResult(CoverJson.Of(context.Proposal, context.State));
}
