using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Accounts;

/// <summary>Shows what is given back for the rest of a block, then does it.</summary>
[Needs(Permission.KeepBooks)]
[OfPupil("id", Sight.ByReason)]
internal sealed class GiveBackModel(PupilBook pupils, AccountReader reader, GiveBackBlock giveBack, Viewer viewer) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public Guid Id { get; set; }

    [BindProperty(SupportsGet = true, Name = "block")]
    public Guid BlockId { get; set; }

    public string Name { get; private set; } = "";

    public BlockLeft Left { get; private set; } = null!;

    public Task<IActionResult> OnGetAsync(CancellationToken cancel) => ShowAsync(cancel);

    public async Task<IActionResult> OnPostAsync(long? pence, CancellationToken cancel)
    {
        var given = await giveBack.RunAsync(viewer, Id, BlockId, new() { Pence = pence }, cancel);
        if (!given.Ok)
        {
            this.AddRefusal(given.Refusal);
            return await ShowAsync(cancel);
        }

        TempData["Done"] = $"{ScreenWords.Money(pence!.Value)} is given back. Next: pay it back, or leave it for what comes.";
        return Redirect($"/accounts/{Id}");
    }

    private async Task<IActionResult> ShowAsync(CancellationToken cancel)
    {
        if (!(await pupils.CardsAsync([Id], cancel)).TryGetValue(Id, out var card)
            || (await reader.FindAsync(Id, 1, cancel))?.Blocks.FirstOrDefault(block => block.Row.Id == BlockId && block.MinutesLeft > 0) is not { } left)
        {
            return NotFound();
        }

        (Name, Left) = (card.Name, left);
        return Page();
    }
}
