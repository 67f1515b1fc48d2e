using System.Text.Json.Serialization;
using NodaTime;
using School.Core.Cars;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;

namespace School.Web.Modules.Diary.Cars;

internal sealed record ApplyAllocation(
    [property: JsonRequired] LocalDate From, [property: JsonRequired] LocalDate To, [property: JsonRequired] string Seen);

internal sealed record AllocationLineJson(
    LocalDate Date, Guid InstructorId, Gearbox Gearbox, bool NeedsDualControls, Instant Start, Instant End, IReadOnlyList<Guid> LessonIds, Guid? HasCarId, Guid? CarId, bool Change);

internal sealed record AllocationMissingJson(
    LocalDate Date, Instant Start, Instant End, bool AtOnce, Gearbox Gearbox, bool DualControls, int Needed, int InDate, string Sentence);

internal sealed record AllocationJson(
    LocalDate From, LocalDate To, string Seen, bool Proven, IReadOnlyList<AllocationLineJson> Lines, IReadOnlyList<AllocationMissingJson> Missing)
{
    public static AllocationJson Of(AllocationPeriod period, AllocationProposal proposal, IReadOnlyDictionary<Guid, string> names, SchoolFacts school) => new(
        period.From,
        period.To,
        proposal.Seen,
        proposal.IsProven,
        [.. proposal.Lines.Select(line => new AllocationLineJson(
            line.Date, line.InstructorId, line.Gearbox, line.NeedsDualControls, line.Teaching.Start, line.Teaching.End,
            [.. line.Lessons.Select(l => l.LessonId)], line.HasCarId, line.CarId, line.IsChange))],
        [.. proposal.Missing.Select(shortage => new AllocationMissingJson(
            shortage.Date, shortage.Hours.Start, shortage.Hours.End, shortage.AtOnce, shortage.Gearbox, shortage.DualControls, shortage.Needed, shortage.InDate, AllocationWords.Of(shortage, names, school)))]);
}

internal static class AllocationEndpoints
{
    public static void MapAllocations(this IEndpointRouteBuilder app)
    {
        var allocations = app.MapApi("car-allocations");
        allocations.MapPost("", ProposeAsync).Needs(Permission.ManageCars).WithIdempotency()
            .WithName("ProposeCarAllocation").WithSummary("Proposes which instructor gets which car on which days, and says what is missing. Changes nothing.")
            .Produces<AllocationJson>().ProducesProblem(400);
        allocations.MapPost("apply", ApplyAsync).Needs(Permission.ManageCars).WithIdempotency()
            .WithName("ApplyCarAllocation").WithSummary("Carries a proposal out as dated holdings; 409 allocation_stale when seen is no longer what it was.")
            .Produces<AllocationJson>().ProducesProblem(400).ProducesProblem(409).ProducesProblem(422);
    }

    private static async Task<IResult> ProposeAsync(
        AllocationPeriod period, GiveOutCars give, InstructorBook instructors, SchoolInfo school, CancellationToken cancel)
    {
        var proposed = await give.ProposeAsync(period, cancel);
        var (names, facts) = (await instructors.NamesAsync(cancel), await school.GetAsync(cancel));
        return proposed.ToResult(proposal => Results.Ok(AllocationJson.Of(period, proposal, names, facts)));
    }

    private static async Task<IResult> ApplyAsync(
        ApplyAllocation request, GiveOutCars give, InstructorBook instructors, SchoolInfo school, Viewer viewer, CancellationToken cancel)
    {
        var period = new AllocationPeriod(request.From, request.To);
        var applied = await give.RunAsync(period, request.Seen, viewer, cancel);
        var (names, facts) = (await instructors.NamesAsync(cancel), await school.GetAsync(cancel));
        return applied.ToResult(proposal => Results.Ok(AllocationJson.Of(period, proposal, names, facts)));
    }
}
