using NodaTime;
using School.Web.Platform.Access;
using School.Web.Platform.Api;

namespace School.Web.Modules.Office;

internal sealed record AttentionJson(string Kind, string Sentence, string Page, LocalDate Since);

internal static class AttentionEndpoints
{
    public static void MapAttention(this IEndpointRouteBuilder app) => app.MapApi("attention").WithTags("diary")
        .MapGet("", ListAsync).Needs(Permission.SeeWholeDiary)
        .WithName("ListAttention").WithSummary("What the office should look at now, what does the most harm first; an item goes away when its cause does.")
        .Produces<Page<AttentionJson>>().ProducesProblem(400);

    private static async Task<IResult> ListAsync(int? limit, string? cursor, AttentionList attention, CancellationToken cancel) =>
        (await attention.AttentionAsync(cancel)).Select(item => new AttentionJson(item.Kind, item.Sentence, item.Href, item.Since)).ToList()
            .PageOf(limit, cursor, item => $"{item.Kind} {item.Page} {item.Sentence}").ToResult();
}
