using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Core;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Accounts;

/// <summary>Lets a fee pass that was asked for.</summary>
[Needs(Permission.KeepBooks)]
[OfPupil("id", Sight.ByReason)]
internal sealed class WaiveModel(PupilBook pupils, AccountReader reader, WaiveFee waive, SchoolInfo school, Viewer viewer) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public Guid Id { get; set; }

    [BindProperty(SupportsGet = true, Name = "fee")]
    public Guid FeeId { get; set; }

    [BindProperty]
    public WaiveInput Input { get; set; } = new();

    public string Name { get; private set; } = "";

    public string Words { get; private set; } = "";

    public Task<IActionResult> OnGetAsync(CancellationToken cancel) => ShowAsync(cancel);

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (!ModelState.IsValid)
        {
            return await ShowAsync(cancel);
        }

        var waived = await waive.RunAsync(viewer, Id, FeeId, Input, null, cancel);
        if (!waived.Ok)
        {
            this.AddRefusal(waived.Refusal, nameof(Input));
            return await ShowAsync(cancel);
        }

        TempData["Done"] = "The fee is let pass.";
        return Redirect($"/accounts/{Id}");
    }

    private async Task<IActionResult> ShowAsync(CancellationToken cancel)
    {
        if (!(await pupils.CardsAsync([Id], cancel)).TryGetValue(Id, out var card) || (await reader.FindAsync(Id, 1, cancel))?.Fees.FirstOrDefault(fee => fee.Id == FeeId) is not { } fee)
        {
            return NotFound();
        }

        (Name, Words) = (card.Name, AccountWords.Of(fee, await school.GetAsync(cancel), Reader.Staff));
        return Page();
    }
}
