using System.Security.Cryptography;
using System.Text;
using NodaTime;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;

namespace School.Web.Modules.Office;

/// <summary>Something that can be done about it: <c>cure</c> puts it right at once, <c>open</c> is the page where it is put right.</summary>
internal sealed record AttentionAct(string Code, string Label, string Page);

/// <summary>One cause: how soon somebody should look, the day on which the first of what comes of it bites, how many that are, and what can be done.</summary>
internal sealed record AttentionJson(
    string Id, string Kind, AttentionUrgency Urgency, LocalDate At, string Sentence, int Count, IReadOnlyList<AttentionAct> Acts, string Page, LocalDate Since)
{
    private const int IdOctets = 12;

    public static AttentionJson Of(AttentionEntry entry) => new(
        Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(entry.Id)).AsSpan(0, IdOctets)), entry.First.Kind, entry.Urgency, entry.First.Since, entry.Sentence, entry.Items.Count,
        [
            .. entry.First.Cure is { } cure ? [new("cure", cure.Act, cure.Href)] : Array.Empty<AttentionAct>(),
            new("open", entry.First.Heading.Act, entry.First.Href),
        ],
        entry.First.Href, entry.First.Since);
}

internal static class AttentionEndpoints
{
    public static void MapAttention(this IEndpointRouteBuilder app) => app.MapApi("attention").WithTags("diary")
        .MapGet("", ListAsync).Needs(Permission.SeeWholeDiary)
        .WithName("ListAttention").WithSummary("What the office should look at, one item a cause, the most urgent first; an item goes away when its cause does.")
        .Produces<Page<AttentionJson>>().ProducesProblem(400);

    private static async Task<IResult> ListAsync(int? limit, string? cursor, AttentionList attention, CancellationToken cancel) =>
        (await attention.EntriesAsync(cancel)).Select(AttentionJson.Of).ToList().PageOf(limit, cursor, item => item.Id).ToResult();
}
