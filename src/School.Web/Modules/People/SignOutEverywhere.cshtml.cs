using Microsoft.AspNetCore.Authentication;
using Microsoft.AspNetCore.Identity;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People;

[Needs(Permission.OwnSignIn)]
internal sealed class SignOutEverywhereModel(SignOutEverywhere everywhere, Viewer viewer) : PageModel
{
    public async Task<IActionResult> OnPostAsync(bool keepUnsent, CancellationToken cancel)
    {
        var ended = await everywhere.RunAsync(viewer, cancel);
        if (!ended.Ok)
        {
            this.AddRefusal(ended.Refusal);
            return Page();
        }

        await HttpContext.SignOutAsync(IdentityConstants.ApplicationScheme);
        SignOutModel.WipeBrowser(Response, keepUnsent);
        return LocalRedirect("/people/sign-out");
    }
}
