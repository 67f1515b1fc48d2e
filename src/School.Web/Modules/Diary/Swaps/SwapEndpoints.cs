using System.Text.Json.Serialization;
using NodaTime;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.Messages.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Errors;
using School.Web.Platform.Jobs;

namespace School.Web.Modules.Diary.Swaps;

/// <summary>What a pupil said, and how it came in.</summary>
internal sealed record SwapAnswerJson(Guid LessonId, Guid PupilId, SwapReply Answer, SwapHow? How, Instant? AnsweredAt);

/// <summary>A swap. A pupil reads their own line and answer alone; no answers where it does not fit, since nobody is asked then. Why it ended is for staff.</summary>
internal sealed record SwapJson(
    Guid Id, ProposalState State, Instant? LapsesAt, IReadOnlyList<ProposalLineJson> Lines, IReadOnlyList<SwapAnswerJson> Answers,
    [property: JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)] SwapEnd? Ended)
{
    public static SwapJson Of(SeenSwap swap) => new(
        swap.Proposal.Id, swap.Proposal.State, swap.Answers.Count == 0 ? null : swap.Answers[0].LapsesAt,
        [.. swap.Proposal.LinesOf().Where(line => swap.Shows(line.Id)).Select(line => ProposalLineJson.Of(swap.Own is null ? line : line with { WhyNot = [] }))],
        [.. swap.Answers.Where(a => swap.Shows(a.LessonId)).OrderBy(a => a.LessonId).Select(a => new SwapAnswerJson(a.LessonId, a.PupilId, a.Reply, a.How, a.AnsweredAt))],
        swap.Own is null ? swap.More.Ended : null);
}

internal static class SwapEndpoints
{
    private const string Address = "swaps";
    private const string EveryMinute = "* * * * *";

    public static void AddSwaps(this IServiceCollection services)
    {
        services.AddScoped<SwapRules>();
        services.AddScoped<ProposalRules>(provider => provider.GetRequiredService<SwapRules>());
        services.AddScoped<SwapReader>();
        services.AddScoped<SwapDesk>();
        services.AddScoped<SwapFit>();
        services.AddScoped<SwapEnds>();
        services.AddScoped<SwapMail>();
        services.AddSingleton<ILetterWording, SwapWording>();
        services.AddScoped<PlanSwap>();
        services.AddScoped<AcceptSwap>();
        services.AddScoped<DeclineSwap>();
        services.AddScoped<LapseSwaps>();
        services.AddRecurringJob<LapseSwaps>(LapseSwaps.Job, EveryMinute, job => job.RunAsync(CancellationToken.None));
    }

    public static void MapSwaps(this IEndpointRouteBuilder app)
    {
        var swaps = app.MapApi(Address);
        swaps.MapPost("", PlanAsync).Needs(Permission.DriveTheDay).WithIdempotency()
            .WithName("PlanSwap")
            .WithSummary("Proposes that two lessons take each other's start and instructor, and asks the pupils not named in agreed. Moves nothing; where it does not fit, nobody is asked and the lines say why.")
            .Produces<SwapJson>(201).ProducesProblem(400).ProducesProblem(404).ProducesProblem(409).ProducesProblem(422);
        swaps.MapGet("{id:guid}", GetAsync).Needs(Permission.SeeLessons)
            .WithName("GetSwap").WithSummary("A swap: for staff both lessons and answers, for a pupil their own.").Produces<SwapJson>().ProducesProblem(404);
        swaps.MapProposalActs(ProposalKind.Swap, Permission.DriveTheDay, "Swap", TellAsync);
        swaps.MapPost("{id:guid}/accept", AcceptAsync).Needs(Permission.BookLessons).WithIdempotency()
            .WithName("AcceptSwap")
            .WithSummary("The pupil agrees, or staff note for lessonId that its pupil did by phone. The last yes carries it out, if both lessons can still change places; if not, the swap is off and both stay.")
            .Produces<SwapJson>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(409).ProducesProblem(422);
        swaps.MapPost("{id:guid}/decline", DeclineAsync).Needs(Permission.BookLessons).WithIdempotency()
            .WithName("DeclineSwap").WithSummary("The pupil declines, or staff note it for lessonId. The swap is off, and both lessons stay.")
            .Produces<SwapJson>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(409);
    }

    private static async Task<IResult> PlanAsync(SwapRequest request, HttpContext context, PlanSwap plan, Viewer viewer, CancellationToken cancel) =>
        await ProposalEndpoints.CreatedAsync(context, await plan.RunAsync(viewer, request, cancel), Address, TellAsync, viewer, cancel);

    private static async Task<IResult> GetAsync(Guid id, HttpContext context, SwapReader reader, Viewer viewer, CancellationToken cancel) =>
        await reader.FindAsync(viewer, id, null, cancel) is { } swap ? ETags.Ok(context, swap.Proposal, SwapJson.Of(swap)) : Refusal.NotFound("swap").ToProblem();

    private static async Task<IResult> AcceptAsync(
        Guid id, SwapAnswerRequest? request, HttpContext context, AcceptSwap accept, SwapReader reader, Viewer viewer, CancellationToken cancel)
    {
        var answered = await accept.RunAsync(viewer, id, request ?? new(), cancel);
        return !answered.Ok ? answered.Refusal.ToProblem()
            : answered.Value.Cannot is { } cannot ? cannot.ToProblem()
            : await GetAsync(id, context, reader, viewer, cancel);
    }

    private static async Task<IResult> DeclineAsync(
        Guid id, SwapAnswerRequest? request, HttpContext context, DeclineSwap decline, SwapReader reader, Viewer viewer, CancellationToken cancel)
    {
        var declined = await decline.RunAsync(viewer, id, request ?? new(), cancel);
        return declined.Ok ? await GetAsync(id, context, reader, viewer, cancel) : declined.Refusal.ToProblem();
    }

    private static async Task<SwapJson> TellAsync(ProposalContext context) =>
        SwapJson.Of((await context.Services.GetRequiredService<SwapReader>().FindAsync(context.Viewer, context.Proposal.Id, null, context.Cancel))!);
}
