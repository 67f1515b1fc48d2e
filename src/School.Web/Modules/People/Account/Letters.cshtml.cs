using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Modules.Messages.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People.Account;

/// <summary>Whether letters reach whoever is signed in, and the way to find out.</summary>
[Needs(Permission.OwnSignIn)]
internal sealed class LettersModel(LettersArrive arrive, AskReached ask, MailWay mail, Viewer viewer) : PageModel
{
    public (bool Done, string Sentence) How { get; private set; }

    public async Task OnGetAsync(CancellationToken cancel) => How = await arrive.ForAsync(viewer, cancel);

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        var asked = await ask.RunAsync(viewer, cancel);
        if (asked.Ok)
        {
            TempData["Done"] = mail.Leaves ? $"A letter to {asked.Value.Email} is written and goes out within a minute. Follow its link." : "A letter is written, but goes nowhere: there is no mail server.";
            return RedirectToPage();
        }

        this.AddRefusal(asked.Refusal);
        await OnGetAsync(cancel);
        return Page();
    }
}
