using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Modules.People.SignIn;
using School.Web.Platform.Access;

namespace School.Web.Modules.People;

/// <summary>Where a signed-in person comes who lacks the permission, or still lacks the second step.</summary>
[AllowAnonymous]
internal sealed class NotAllowedModel : PageModel
{
    public IActionResult OnGet()
    {
        if (Viewer.From(User) is { SecondStepMissing: true })
        {
            return LocalRedirect(PageSignIn.SetUpSecondStep);
        }

        Response.StatusCode = StatusCodes.Status403Forbidden;
        return Page();
    }
}
