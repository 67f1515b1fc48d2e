using Microsoft.AspNetCore.Authentication;
using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.Identity;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Modules.People.SignIn;
using School.Web.Platform.Access;

namespace School.Web.Modules.People;

[AllowAnonymous]
internal sealed class SignOutModel(EndSession end) : PageModel
{
    public async Task<IActionResult> OnPostAsync(bool keepUnsent, CancellationToken cancel)
    {
        if (Viewer.From(User) is { SessionId: { } session } viewer)
        {
            await end.RunAsync(viewer, session, cancel);
        }

        await HttpContext.SignOutAsync(IdentityConstants.ApplicationScheme);
        await HttpContext.SignOutAsync(IdentityConstants.TwoFactorUserIdScheme);

        WipeBrowser(Response, keepUnsent);
        return RedirectToPage();
    }

    /// <summary>
    /// Has the browser forget what it kept. Where records of somebody else still wait there to be sent, the page has wiped
    /// everything but those itself, and the storage that holds them stays.
    /// </summary>
    public static void WipeBrowser(HttpResponse response, bool keepUnsent) =>
        // Not "cookies": that would also end what neighbours on the same domain keep.
        response.Headers["Clear-Site-Data"] = keepUnsent ? "\"cache\"" : "\"cache\", \"storage\"";
}
