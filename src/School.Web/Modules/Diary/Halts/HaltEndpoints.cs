using NodaTime;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.Messages.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Halts;

/// <summary>A pupil whom no letter reached, why, and when somebody rang them. The phone is empty where there is none, and where the pupil is seen by name alone and no reason was given for the numbers.</summary>
internal sealed record ToCallJson(Guid PupilId, string Phone, Unreached Why, Instant? CalledAt);

/// <summary>ToCall is there once the halt is carried out.</summary>
internal sealed record HaltJson(
    Guid Id, ProposalState State, Instant Start, Instant End, IReadOnlyList<Guid>? InstructorIds, IReadOnlyList<Guid>? AreaIds, HaltAct Act, CancelReason Reason,
    IReadOnlyList<ProposalLineJson>? Lines, IReadOnlyList<ToCallJson>? ToCall)
{
    public static HaltJson Of(Proposal proposal, ProposalState state, IReadOnlyList<CallDue>? calls)
    {
        var ask = HaltRules.AskOf(proposal);
        return new(
            proposal.Id, state, ask.Start, ask.End, ask.InstructorIds, ask.AreaIds, ask.Act, ask.Reason, [.. proposal.LinesOf().Select(ProposalLineJson.Of)],
            calls is null ? null : [.. calls.Select(call => new ToCallJson(call.Pupil.Id, call.Pupil.Phone, call.Why, call.CalledAt))]);
    }
}

internal static class HaltEndpoints
{
    private const string Address = "halts";

    public static void MapHalts(this IEndpointRouteBuilder app)
    {
        var halts = app.MapApi(Address);
        halts.MapPost("", PlanAsync).Needs(Permission.ChangeHours).WithIdempotency()
            .WithName("PlanHalt")
            .WithSummary("What stopping lessons would do, for the weather or another cause: an instructor their own, the office anybody's. Changes nothing yet.")
            .Produces<HaltJson>(201).ProducesProblem(400).ProducesProblem(404).ProducesProblem(422);
        halts.MapProposals(ProposalKind.Halt, Permission.ChangeHours, "Halt", TellAsync);
        halts.MapPost("{id:guid}/calls", CallAsync).Needs(Permission.ChangeHours).WithIdempotency()
            .WithName("TickHaltCall").WithSummary("Ticks off that a pupil of toCall was rung.").Produces<HaltJson>().ProducesProblem(400).ProducesProblem(404);
        halts.MapPost("{id:guid}/numbers", OpenAsync).Needs(Permission.ChangeHours).WithIdempotency().WithName("OpenHaltNumbers")
            .WithSummary("Opens by one reason the phones of toCall whose pupils are seen by name alone: until midnight, in toCall, and nothing else of them. 422 reason_not_needed, halt_not_carried_out.")
            .Produces<HaltJson>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(422);
    }

    private static async Task<IResult> PlanAsync(HaltRequest request, HttpContext context, PlanHalt plan, Viewer viewer, CancellationToken cancel) =>
        await ProposalEndpoints.CreatedAsync(context, await plan.RunAsync(viewer, request, cancel), Address, TellAsync, viewer, cancel);

    private static async Task<IResult> CallAsync(Guid id, TickCallRequest request, TickHaltCall tick, HaltCalls calls, Viewer viewer, CancellationToken cancel)
    {
        var ticked = await tick.RunAsync(viewer, id, request, cancel);
        return ticked.Ok ? Results.Ok(HaltJson.Of(ticked.Value, ticked.Value.State, await calls.OfAsync(viewer, ticked.Value, cancel))) : ticked.Refusal.ToProblem();
    }

    private static async Task<IResult> OpenAsync(Guid id, HaltNumbersRequest request, OpenHaltNumbers open, HaltCalls calls, Viewer viewer, CancellationToken cancel)
    {
        var opened = await open.RunAsync(viewer, id, request, cancel);
        return opened.Ok ? Results.Ok(HaltJson.Of(opened.Value, opened.Value.State, await calls.OfAsync(viewer, opened.Value, cancel))) : opened.Refusal.ToProblem();
    }

    private static async Task<HaltJson> TellAsync(ProposalContext context) =>
        HaltJson.Of(context.Proposal, context.State, await context.Services.GetRequiredService<HaltCalls>().OfAsync(context.Viewer, context.Proposal, context.Cancel));
}
