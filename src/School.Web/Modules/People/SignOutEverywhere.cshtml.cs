using Microsoft.AspNetCore.Authentication;
using Microsoft.AspNetCore.Identity;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Platform.Access;

namespace School.Web.Modules.People;

[Needs(Permission.OwnSignIn)]
internal sealed class SignOutEverywhereModel(UserManager<Person> people, SignOutEverywhere everywhere) : PageModel
{
    public async Task<IActionResult> OnPostAsync(bool keepUnsent, CancellationToken cancel)
    {
        if (await people.GetUserAsync(User) is { } person)
        {
            await everywhere.RunAsync(person, cancel);
        }

        await HttpContext.SignOutAsync(IdentityConstants.ApplicationScheme);
        SignOutModel.WipeBrowser(Response, keepUnsent);
        return LocalRedirect("/people/sign-out");
    }
}
