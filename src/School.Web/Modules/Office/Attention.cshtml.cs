using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Modules.Office;

/// <summary>Everything that waits for somebody, worked out afresh each time: what is put right is gone.</summary>
[Needs(Permission.SeeWholeDiary)]
internal sealed class AttentionModel(AttentionList attention) : PageModel
{
    public IReadOnlyList<AttentionGroup> Groups { get; private set; } = [];

    public async Task OnGetAsync(CancellationToken cancel) =>
        Groups = [.. (await attention.AttentionAsync(cancel)).GroupBy(item => item.Heading, (heading, items) => new AttentionGroup(heading, [.. items]))];

    /// <summary>The board's link, with how many things wait; empty when nothing does.</summary>
    public async Task<IActionResult> OnGetCountAsync(CancellationToken cancel) =>
        Partial("_AttentionCount", (await attention.AttentionAsync(cancel)).Count);
}

internal sealed record AttentionGroup(AttentionHeading Heading, IReadOnlyList<AttentionItem> Items);
