using Microsoft.AspNetCore.Authentication;
using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.Identity;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace School.Web.Modules.People;

[AllowAnonymous]
internal sealed class SignOutModel : PageModel
{
    public async Task<IActionResult> OnPostAsync()
    {
        await HttpContext.SignOutAsync(IdentityConstants.ApplicationScheme);
        await HttpContext.SignOutAsync(IdentityConstants.TwoFactorUserIdScheme);

        // Not "cookies": that would also end what neighbours on the same domain keep.
        Response.Headers["Clear-Site-Data"] = "\"cache\", \"storage\"";
        return RedirectToPage();
    }
}
