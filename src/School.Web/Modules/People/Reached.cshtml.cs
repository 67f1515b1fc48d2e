using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People;

/// <summary>Where the link of a letter leads that was to see whether letters arrive. Opening it says nothing yet: mail servers open links too.</summary>
[AllowAnonymous]
internal sealed class ReachedModel(NoteReached note) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public Guid Person { get; set; }

    [BindProperty(SupportsGet = true)]
    public string? Token { get; set; }

    public Person? Whom { get; private set; }

    public bool Noted { get; private set; }

    public async Task OnGetAsync(CancellationToken cancel) => Whom = await note.WhomAsync(Person, Token, cancel);

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        var noted = await note.RunAsync(Person, Token, cancel);
        if (!noted.Ok)
        {
            this.AddRefusal(noted.Refusal);
            return Page();
        }

        if (Viewer.From(User)?.PersonId == Person)
        {
            TempData["Done"] = "Letters of the school reach you.";
            return LocalRedirect("/");
        }

        (Whom, Noted) = (noted.Value, true);
        return Page();
    }
}
