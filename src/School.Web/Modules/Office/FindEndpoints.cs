using School.Core;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Errors;
using School.Web.Platform.Find;

namespace School.Web.Modules.Office;

/// <summary>Something that was found: what it is, what it is called, what tells it from another, and the page about it. A page has no id.</summary>
internal sealed record FoundJson(FoundKind Kind, Guid? Id, string Label, string Detail, string Page)
{
    public static FoundJson Of(Found found) => new(found.Kind, found.Id, found.Label, found.Detail, found.Page);
}

internal static class FindEndpoints
{
    public static void MapFind(this IEndpointRouteBuilder app) => app.MapApi("search")
        .MapGet("", FindAsync).Needs(Permission.OwnSignIn)
        .WithName("Search").WithSummary("What the words of `q` begin, in any order and without accents, with one slip forgiven; also by phone number, plate and reference however they are spaced. Of what the caller may see, at most 8 of each kind, or 50 of the one that `kind` names; the best first.")
        .Produces<Page<FoundJson>>().ProducesProblem(400);

    private static async Task<IResult> FindAsync(
        [AtMost(Question.Longest), Form(@"\S")] string q, QueryWord<FoundKind>? kind, int? limit, string? cursor, Finder finder, Viewer viewer, CancellationToken cancel)
    {
        var found = await finder.FindAsync(viewer, q, kind?.Value, cancel);
        return found.Ok
            ? found.Value.Select(FoundJson.Of).ToList().PageOf(limit, cursor, one => $"{one.Kind} {one.Id} {one.Page}").ToResult()
            : found.Refusal.ToProblem();
    }
}
