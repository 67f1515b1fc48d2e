using NodaTime;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Proposals;

/// <summary>A line as the API tells it, the same for every kind.</summary>
internal sealed record ProposalLineJson(
    Guid Id, ProposalAct Act, Guid? LessonId, IReadOnlyList<Guid> LessonIds, Guid? InstructorId, Guid? CarId, Instant? Start, ProposalCharge? Charge,
    IReadOnlyList<ProposalWhyNot> WhyNot)
{
    public static ProposalLineJson Of(ProposalLine line) => new(
        line.Id, line.Act, line.LessonId, line.LessonIds, line.InstructorId, line.CarId, line.Start, line.Charge, line.WhyNot);
}

/// <summary>How far one has come that is still worked out.</summary>
internal sealed record ProposalProgressJson(int Done, int Of);

/// <summary>What every kind of proposal tells; a kind with more to tell has a record of its own with the same members.</summary>
internal sealed record ProposalJsonBody(Guid Id, ProposalState State, IReadOnlyList<ProposalLineJson>? Lines)
{
    public static ProposalJsonBody Of(Proposal proposal, ProposalState state) =>
        new(proposal.Id, state, proposal.Lines is null ? null : [.. proposal.LinesOf().Select(ProposalLineJson.Of)]);
}

/// <summary>The three endpoints that are the same for every kind: read, carry out, drop.</summary>
internal static class ProposalEndpoints
{
    /// <typeparam name="TBody">What the kind tells.</typeparam>
    /// <param name="proposals">The kind's address.</param>
    /// <param name="kind">The kind.</param>
    /// <param name="permission">Who may.</param>
    /// <param name="name">In the names of the operations: "Cover".</param>
    /// <param name="ofAsync">Makes what the kind tells.</param>
    public static void MapProposals<TBody>(
        this IEndpointRouteBuilder proposals, ProposalKind kind, Permission permission, string name, Func<ProposalContext, Task<TBody>> ofAsync)
    {
        proposals.MapGet("{id:guid}", async (Guid id, HttpContext context, ProposalReader reader, Viewer viewer, CancellationToken cancel) =>
                await reader.FindAsync(viewer, id, cancel, kind) is { } proposal
                    ? ETags.Ok(context, proposal, await ofAsync(await ContextAsync(context, proposal, reader, viewer, cancel)))
                    : Refusal.NotFound("proposal").ToProblem())
            .Needs(permission).WithName($"Get{name}")
            .WithSummary("What is proposed, line by line; state working while it is worked out, stale when the diary has changed since.")
            .Produces<TBody>().ProducesProblem(404);
        proposals.MapProposalActs(kind, permission, name, ofAsync);
    }

    /// <summary>Carry out and drop, for a kind that others than those who may do so read as well.</summary>
    public static void MapProposalActs<TBody>(
        this IEndpointRouteBuilder proposals, ProposalKind kind, Permission permission, string name, Func<ProposalContext, Task<TBody>> ofAsync)
    {
        proposals.MapPost("{id:guid}/apply", async (
                    Guid id, ApplyProposalRequest? request, HttpContext context, ApplyProposal apply, ProposalReader reader, Viewer viewer, CancellationToken cancel) =>
            {
                if (await reader.FindAsync(viewer, id, cancel, kind) is null)
                {
                    return Refusal.NotFound("proposal").ToProblem();
                }

                var applied = await apply.RunAsync(viewer, id, request ?? new(), ETags.Wanted(context), cancel);
                return applied.Ok
                    ? ETags.Ok(context, applied.Value, await ofAsync(await ContextAsync(context, applied.Value, reader, viewer, cancel)))
                    : applied.Refusal.ToProblem();
            })
            .Needs(permission).WithIdempotency().WithName($"Apply{name}")
            .WithSummary("Carries it out, or only the lines named, all or nothing; 409 proposal_stale when the diary has changed, and then it has been worked out again; proposal_not_ready, proposal_applied, proposal_stopped by its state.")
            .Produces<TBody>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(409).ProducesProblem(412).ProducesProblem(422);
        proposals.MapDelete("{id:guid}", async (Guid id, DropProposal drop, ProposalReader reader, Viewer viewer, CancellationToken cancel) =>
                await reader.FindAsync(viewer, id, cancel, kind) is null
                    ? Refusal.NotFound("proposal").ToProblem()
                    : (await drop.RunAsync(viewer, id, cancel)).ToResult(_ => Results.NoContent()))
            .Needs(permission).WithIdempotency().WithName($"Drop{name}").WithSummary("Drops it, also while it is worked out; 409 proposal_applied, proposal_stopped. Changes nothing else.")
            .Produces(204).ProducesProblem(404).ProducesProblem(409);
    }

    /// <summary>201 with what was made.</summary>
    public static async Task<IResult> CreatedAsync<TBody>(
        HttpContext context, Outcome<Proposal> made, string address, Func<ProposalContext, Task<TBody>> ofAsync, Viewer viewer, CancellationToken cancel) => made.Ok
            ? ETags.Created(
                context, made.Value, $"{ApiSetup.Prefix}/{address}/{made.Value.Id}",
                await ofAsync(new(made.Value, made.Value.State, context.RequestServices, viewer, cancel)))
            : made.Refusal.ToProblem();

    private static async Task<ProposalContext> ContextAsync(HttpContext context, Proposal proposal, ProposalReader reader, Viewer viewer, CancellationToken cancel) =>
        new(proposal, await reader.StateAsync(proposal, cancel), context.RequestServices, viewer, cancel);
}

/// <summary>What a kind needs to tell one of its proposals.</summary>
internal sealed record ProposalContext(Proposal Proposal, ProposalState State, IServiceProvider Services, Viewer Viewer, CancellationToken Cancel);
