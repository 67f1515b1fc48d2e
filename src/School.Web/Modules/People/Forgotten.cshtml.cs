using System.ComponentModel.DataAnnotations;
using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Modules.People.SignIn;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People;

[AllowAnonymous]
internal sealed class ForgottenModel(AskForNewPassword ask, KnownDevices devices) : PageModel
{
    [BindProperty, Required(ErrorMessage = "Type the e-mail address or the name that you sign in with.")]
    public string Email { get; set; } = "";

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (!ModelState.IsValid)
        {
            return Page();
        }

        var asked = await ask.RunAsync(devices.Of(HttpContext), Email, cancel);
        if (!asked.Ok)
        {
            this.AddRefusal(asked.Refusal);
            return Page();
        }

        TempData["Done"] = "If somebody signs in here with that address or name, a link is on its way by e-mail. It works for an hour.";
        return LocalRedirect("/people/sign-in");
    }
}
