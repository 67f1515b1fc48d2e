using NodaTime;
using School.Core.Cars;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;

namespace School.Web.Modules.Diary.Cars;

internal sealed record AllocationLineJson(
    Guid Id, ProposalAct Act, LocalDate Date, Guid InstructorId, Gearbox Gearbox, bool NeedsDualControls, Instant Start, Instant End, IReadOnlyList<Guid> LessonIds,
    Guid? HasCarId, Guid? CarId, bool Change, ProposalCharge? Charge, IReadOnlyList<ProposalWhyNot> WhyNot);

internal sealed record AllocationMissingJson(
    LocalDate Date, Instant Start, Instant End, bool AtOnce, Gearbox Gearbox, bool DualControls, int Needed, int InDate, string Sentence);

internal sealed record AllocationJson(
    Guid Id, ProposalState State, LocalDate From, LocalDate To, bool Proven, IReadOnlyList<AllocationLineJson> Lines, IReadOnlyList<AllocationMissingJson> Missing)
{
    public static AllocationJson Of(Proposal proposal, ProposalState state, IReadOnlyDictionary<Guid, string> names, SchoolFacts school)
    {
        var (period, more) = (AllocationRules.AskOf(proposal), AllocationRules.MoreOf(proposal));
        var details = more.Lines.ToDictionary(detail => detail.Id, detail => detail.Line);
        return new(
            proposal.Id, state, period.From, period.To, more.IsProven,
            [.. proposal.LinesOf().Select(line => (line, Detail: details[line.Id])).Select(pair => new AllocationLineJson(
                pair.line.Id, pair.line.Act, pair.Detail.Date, pair.Detail.InstructorId, pair.Detail.Gearbox, pair.Detail.NeedsDualControls, pair.Detail.Teaching.Start,
                pair.Detail.Teaching.End, pair.line.LessonIds, pair.Detail.HasCarId, pair.Detail.CarId, pair.Detail.IsChange, pair.line.Charge, pair.line.WhyNot))],
            [.. more.Missing.Select(shortage => new AllocationMissingJson(
                shortage.Date, shortage.Hours.Start, shortage.Hours.End, shortage.AtOnce, shortage.Gearbox, shortage.DualControls, shortage.Needed, shortage.InDate,
                AllocationWords.Of(shortage, names, school)))]);
    }
}

internal static class AllocationEndpoints
{
    private const string Address = "car-allocations";

    public static void MapAllocations(this IEndpointRouteBuilder app)
    {
        var allocations = app.MapApi(Address);
        allocations.MapPost("", ProposeAsync).Needs(Permission.ManageCars).WithIdempotency()
            .WithName("ProposeCarAllocation").WithSummary("Proposes which instructor gets which car on which days, and says what is missing. Changes nothing yet.")
            .Produces<AllocationJson>(201).ProducesProblem(400);
        allocations.MapProposals(ProposalKind.CarAllocation, Permission.ManageCars, "CarAllocation", TellAsync);
    }

    private static async Task<IResult> ProposeAsync(AllocationPeriod period, HttpContext context, GiveOutCars give, Viewer viewer, CancellationToken cancel) =>
        await ProposalEndpoints.CreatedAsync(context, await give.ProposeAsync(viewer, period, cancel), Address, TellAsync, viewer, cancel);

    private static async Task<AllocationJson> TellAsync(ProposalContext context)
    {
        var names = await context.Services.GetRequiredService<InstructorBook>().NamesAsync(context.Cancel);
        return AllocationJson.Of(context.Proposal, context.State, names, await context.Services.GetRequiredService<SchoolInfo>().GetAsync(context.Cancel));
    }
}
