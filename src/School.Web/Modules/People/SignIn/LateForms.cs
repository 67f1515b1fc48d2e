using System.Security.Claims;
using Microsoft.AspNetCore.Antiforgery;
using Microsoft.AspNetCore.Authentication;
using Microsoft.AspNetCore.Authentication.Cookies;
using Microsoft.AspNetCore.Identity;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.Extensions.Options;
using School.Web.Platform.Forms.Kept;

namespace School.Web.Modules.People.SignIn;

/// <summary>
/// Keeps a form that came after its sender's session had ended, where both are shown: the cookie is of a session that was theirs, and the form's
/// antiforgery token was made for them. What cannot be shown is not kept.
/// </summary>
internal sealed class LateForms(Sessions sessions, IAntiforgery antiforgery, KeptForms kept, IOptionsMonitor<CookieAuthenticationOptions> cookies)
{
    /// <summary>Where to go on once signed in again, with the form; null where there is none that may be kept.</summary>
    public async Task<string?> KeepAsync(HttpContext context, CancellationToken cancel)
    {
        var request = context.Request;
        if (!HttpMethods.IsPost(request.Method) || !request.HasFormContentType || request.ContentLength is null or > 2 * KeptForms.Longest
            || context.GetEndpoint()?.Metadata.GetMetadata<PageActionDescriptor>() is null || await WhoseAsync(context, cancel) is not { } person)
        {
            return null;
        }

        var nobody = context.User;
        try
        {
            context.User = PersonClaims.Principal(person, secondStepMissing: false, IdentityConstants.ApplicationScheme);
            return await antiforgery.IsRequestValidAsync(context)
                ? await kept.KeepAsync(person.Id, request.Path, request.QueryString.Value ?? "", await request.ReadFormAsync(cancel), cancel)
                : null;
        }
        catch (Exception unread) when (unread is InvalidDataException or BadHttpRequestException)
        {
            return null;
        }
        finally
        {
            context.User = nobody;
        }
    }

    private async Task<Person?> WhoseAsync(HttpContext context, CancellationToken cancel)
    {
        var options = cookies.Get(IdentityConstants.ApplicationScheme);
        return options.CookieManager.GetRequestCookie(context, options.Cookie.Name!) is { } cookie
            && options.TicketDataFormat.Unprotect(cookie)?.Principal.FindFirstValue(PageSignIn.Secret) is { } secret
                ? await sessions.WhoseWasAsync(secret, cancel)
                : null;
    }
}
