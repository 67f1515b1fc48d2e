using NodaTime;
using School.Core;
using School.Core.Papers;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Office;

/// <summary>A paper of somebody or of a car: the days on which it is good, how it stands today, what does not take place without it, and where a new one is entered.</summary>
internal sealed record PaperJson(
    PaperHolder Holder, Guid HolderId, string Name, PaperKind Kind, LocalDate? From, LocalDate? Until, LocalDate? DisqualifiedUntil, PaperState State, PaperStops Stops, LocalDate? SeenOn, Guid? SeenBy,
    string Source, LocalDate SourceDate, string Page)
{
    public static PaperJson Of(HeldPaper held, LocalDate today)
    {
        var paper = held.Paper;
        return new(
            paper.Holder, paper.HolderId, held.Name, paper.Kind, paper.From, paper.Until, paper.VoidUntil, paper.StateOn(today), paper.Stops, paper.SeenOn, paper.SeenBy,
            paper.Source.Text, paper.Source.Date, held.Cure);
    }
}

internal static class PaperEndpoints
{
    public static void MapAllPapers(this IEndpointRouteBuilder app) => app.MapApi("papers").WithTags("diary")
        .MapGet("", ListAsync).Needs(Permission.SeeWholeDiary)
        .WithName("ListPapers").WithSummary("Whatever has a first and a last day, of pupils, instructors and cars, as it stands today; what ends first stands first. ?within= days gives those that end so soon or have ended.")
        .Produces<Page<PaperJson>>().ProducesProblem(400);

    private static async Task<IResult> ListAsync(
        QueryWord<PaperHolder>? holder, QueryWord<PaperKind>? kind, [Between(0, PaperFilter.MostDays)] int? within, int? limit, string? cursor,
        PaperList papers, SchoolInfo school, IClock clock, CancellationToken cancel)
    {
        if (within is < 0 or > PaperFilter.MostDays)
        {
            return Refusal.Invalid(nameof(within), PaperFilter.WrongDays).ToProblem();
        }

        var today = (await school.GetAsync(cancel)).Today(clock);
        return new PaperFilter(holder?.Value, kind?.Value, within).Of(await papers.ListAsync(today, cancel), today)
            .Select(held => PaperJson.Of(held, today)).ToList().PageOf(limit, cursor, paper => $"{paper.Holder} {paper.HolderId} {paper.Kind}").ToResult();
    }
}
