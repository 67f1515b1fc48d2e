using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Accounts;

/// <summary>The school's terms.</summary>
[Needs(Permission.KeepBooks)]
internal sealed class TermsModel(TermsBook book, WriteTerms write, Viewer viewer) : PageModel
{
    [BindProperty]
    public TermsInput Input { get; set; } = new();

    public Terms? Newest { get; private set; }

    public async Task OnGetAsync(CancellationToken cancel)
    {
        Newest = await book.NewestAsync(cancel);
        Input = Newest is null ? new() : new() { Text = Newest.Text, NamesFees = Newest.NamesFees };
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        Newest = await book.NewestAsync(cancel);
        if (!ModelState.IsValid)
        {
            return Page();
        }

        var written = await write.RunAsync(viewer, Input, cancel);
        if (!written.Ok)
        {
            this.AddRefusal(written.Refusal, nameof(Input));
            return Page();
        }

        TempData["Done"] = $"Version {written.Value.Number} of the terms stands. Pupils find it on their page Money.";
        return Redirect("/accounts/terms");
    }
}
