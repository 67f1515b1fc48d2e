using NodaTime;
using School.Web.Modules.Diary.Proposals;
using School.Web.Platform.Access;
using School.Web.Platform.Api;

namespace School.Web.Modules.Diary.HandOvers;

/// <summary>
/// A pupil handed over for good. The line whose id is the pupil's makes the new instructor the usual one, who then sees the pupil; each other line is a
/// coming lesson. Tests ahead stay as they are and are told.
/// </summary>
internal sealed record HandOverJson(
    Guid Id, ProposalState State, Guid PupilId, Guid InstructorId, Guid? FormerInstructorId, LocalDate From, IReadOnlyList<ProposalLineJson>? Lines, IReadOnlyList<HandOverTest> Tests)
{
    public static HandOverJson Of(Proposal proposal, ProposalState state)
    {
        var (ask, more) = (HandOverRules.AskOf(proposal), HandOverRules.MoreOf(proposal));
        return new(proposal.Id, state, ask.PupilId, ask.InstructorId, more.FormerInstructorId, ask.From, [.. proposal.LinesOf().Select(ProposalLineJson.Of)], more.Tests);
    }
}

internal static class HandOverEndpoints
{
    private const string Address = "hand-overs";

    public static void MapHandOvers(this IEndpointRouteBuilder app)
    {
        app.MapApi("pupils").MapPost("{id:guid}/hand-over", PlanAsync).Needs(Permission.ArrangeCover).WithIdempotency()
            .WithName("PlanHandOver").WithSummary("What handing a pupil over for good would do: each coming lesson at its time with the new instructor, or why not. Changes nothing yet. 422 already_theirs, pupil_left, instructor_left.")
            .Produces<HandOverJson>(201).ProducesProblem(400).ProducesProblem(404).ProducesProblem(422);
        app.MapApi(Address).MapProposals(ProposalKind.HandOver, Permission.ArrangeCover, "HandOver", TellAsync);
    }

    private static async Task<IResult> PlanAsync(Guid id, HandOverRequest request, HttpContext context, PlanHandOver plan, Viewer viewer, CancellationToken cancel) =>
        await ProposalEndpoints.CreatedAsync(context, await plan.RunAsync(viewer, id, request, cancel), Address, TellAsync, viewer, cancel);

    private static Task<HandOverJson> TellAsync(ProposalContext context) => Task.FromResult(HandOverJson.Of(context.Proposal, context.State));
}
