using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Accounts;

/// <summary>Gives up a debt.</summary>
[Needs(Permission.KeepBooks)]
[OfPupil("id", Sight.ByReason)]
internal sealed class WriteOffModel(PupilBook pupils, Ledger ledger, WriteOff writeOff, Viewer viewer) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public Guid Id { get; set; }

    [BindProperty]
    public WriteOffForm Input { get; set; } = new();

    public string Name { get; private set; } = "";

    public long Owed { get; private set; }

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel)
    {
        if (!await ReadAsync(cancel))
        {
            return NotFound();
        }

        Input = new() { Pence = Owed > 0 ? new Pounds(Owed) : null };
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (!await ReadAsync(cancel))
        {
            return NotFound();
        }

        if (!ModelState.IsValid)
        {
            return Page();
        }

        var given = await writeOff.RunAsync(viewer, Id, new() { Pence = Input.Pence?.Pence, Reason = Input.Reason }, cancel);
        if (!given.Ok)
        {
            this.AddRefusal(given.Refusal, nameof(Input));
            return Page();
        }

        TempData["Done"] = "The debt is given up.";
        return Redirect($"/accounts/{Id}");
    }

    private async Task<bool> ReadAsync(CancellationToken cancel)
    {
        if (!(await pupils.CardsAsync([Id], cancel)).TryGetValue(Id, out var card))
        {
            return false;
        }

        (Name, Owed) = (card.Name, await ledger.OwedAsync(Id, cancel));
        return true;
    }

    internal sealed class WriteOffForm
    {
        public Pounds? Pence { get; init; }

        public string? Reason { get; init; }
    }
}
