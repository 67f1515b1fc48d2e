using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Accounts;

/// <summary>A pupil's own account.</summary>
[Needs(Permission.ReadAccount)]
internal sealed class MineModel(AccountReader reader, TermsBook terms, AcceptTerms accept, SchoolInfo school, Viewer viewer) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public int Sheet { get; set; } = 1;

    public AccountView? View { get; private set; }

    public Terms? Terms { get; private set; }

    public TermsAccepted? Accepted { get; private set; }

    public Task<IActionResult> OnGetAsync(CancellationToken cancel) => ShowAsync(cancel);

    public async Task<IActionResult> OnPostAsync(int number, CancellationToken cancel)
    {
        if (viewer.PupilId is not { } id)
        {
            return NotFound();
        }

        var accepted = await accept.RunAsync(viewer, id, number, cancel);
        if (!accepted.Ok)
        {
            this.AddRefusal(accepted.Refusal);
            return await ShowAsync(cancel);
        }

        TempData["Done"] = "Thank you: the terms are accepted.";
        return Redirect("/accounts/mine");
    }

    private async Task<IActionResult> ShowAsync(CancellationToken cancel)
    {
        if (viewer.PupilId is not { } id)
        {
            return Redirect(viewer.May(Permission.KeepBooks) ? "/accounts" : viewer.May(Permission.SeeBeside) ? "/diary/beside" : "/pupils");
        }

        Sheet = Math.Clamp(Sheet, 1, 10_000);
        if (await reader.FindAsync(id, Sheet, cancel) is { } account)
        {
            View = new(id, account, await school.GetAsync(cancel), Sheet, "/accounts/mine", viewer);
            (Terms, Accepted) = await terms.OfPupilAsync(id, cancel);
        }

        return Page();
    }
}
