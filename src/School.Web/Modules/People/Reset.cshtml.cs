using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Modules.People.SignIn;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People;

[AllowAnonymous]
internal sealed class ResetModel(ChooseNewPassword choose, KnownDevices devices) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public Guid Person { get; set; }

    [BindProperty(SupportsGet = true)]
    public string? Token { get; set; }

    [BindProperty]
    public string? Password { get; set; }

    /// <summary>Whose password it is; null when the link is over.</summary>
    public string? Name { get; private set; }

    public async Task OnGetAsync(CancellationToken cancel) => Name = await choose.WhoseAsync(Person, Token, cancel);

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        var chosen = await choose.RunAsync(devices.Of(HttpContext), Person, new(Token, Password), cancel);
        if (chosen.Ok)
        {
            TempData["Done"] = "Your password is changed. Sign in with the new one.";
            return LocalRedirect("/people/sign-in");
        }

        await OnGetAsync(cancel);
        this.AddRefusal(chosen.Refusal);
        return Page();
    }
}
