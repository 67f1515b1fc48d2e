using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Platform.Access;

namespace School.Web.Modules.Diary;

/// <summary>Everything that waits for somebody, worked out afresh each time: what is put right is gone.</summary>
[Needs(Permission.SeeWholeDiary)]
internal sealed class AttentionModel(AttentionList attention) : PageModel
{
    // In the order of harm when nobody looks.
    private static readonly (string Heading, string Act, string[] Kinds)[] Order =
    [
        ("Lessons that cannot take place as booked", "Look at the lesson", [AttentionList.ImpossibleLesson]),
        ("Test days", "Look at the test day", [AttentionList.TestDay]),
        ("Papers that run out", "Enter the new date", [AttentionList.CarPaper, AttentionList.Registration]),
        ("Pupils’ theory certificates and licence checks", "Enter the new date", [AttentionList.TheoryEnds, AttentionList.LicenceCheck]),
        ("Messages that did not get through", "Look at the message", [AttentionList.FailedMessage]),
        ("Lessons not recorded yet", "Record it", [AttentionList.UnrecordedLesson]),
    ];

    public IReadOnlyList<AttentionGroup> Groups { get; private set; } = [];

    public async Task OnGetAsync(CancellationToken cancel)
    {
        var items = await attention.AttentionAsync(cancel);
        Groups = [.. Order.Select(group => new AttentionGroup(group.Heading, group.Act, [.. items.Where(item => group.Kinds.Contains(item.Kind))]))
            .Where(group => group.Items.Count > 0)];
    }

    /// <summary>The board's link, with how many things wait; empty when nothing does.</summary>
    public async Task<IActionResult> OnGetCountAsync(CancellationToken cancel) =>
        Partial("_AttentionCount", (await attention.AttentionAsync(cancel)).Count);
}

internal sealed record AttentionGroup(string Heading, string Act, IReadOnlyList<AttentionItem> Items);
