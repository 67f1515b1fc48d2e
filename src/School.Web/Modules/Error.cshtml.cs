using System.Diagnostics;
using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.Diagnostics;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.Filters;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.RateLimiting;

namespace School.Web.Modules;

/// <summary>What a person sees when a page cannot be shown. Asks nothing of the database, which may be why it is shown.</summary>
[AllowAnonymous, IgnoreAntiforgeryToken, DisableRateLimiting, ResponseCache(NoStore = true)]
internal sealed class ErrorModel : PageModel
{
    public string Heading { get; private set; } = "";

    public string Sentence { get; private set; } = "";

    public string? Reference { get; private set; }

    /// <summary>Runs whatever the method of the request that failed.</summary>
    public override void OnPageHandlerExecuting(PageHandlerExecutingContext context)
    {
        // After a failure the handler has chosen the status; the address names only its usual one.
        var failed = HttpContext.Features.Get<IExceptionHandlerFeature>() is not null;
        var given = int.TryParse(RouteData.Values["status"]?.ToString(), out var status);
        var code = failed ? Response.StatusCode : given && status is >= 400 and <= 599 ? status : StatusCodes.Status500InternalServerError;
        Response.StatusCode = code;
        ViewData["Bare"] = code >= StatusCodes.Status500InternalServerError;
        (Heading, Sentence) = code switch
        {
            400 => ("That could not be read", "Your page may have been open for a long time. Go back, load it again and send it once more."),
            403 => ("You do not have access to this page", "You are signed in, but this page belongs to someone else or to another role. Ask the office if you need it."),
            404 => ("There is nothing at this address", "The page may have moved, or the address may have been cut short. Check the end of it."),
            413 => ("That is more than this takes at once", "Nothing was changed. Go back, shorten what you typed, and send it once more."),
            429 => ("Too many tries", "Wait a few minutes, then try again."),
            503 => ("The diary is not answering", "Nothing that was saved is lost. What you have just sent may not have arrived: try again shortly, and check before you send it twice."),
            < 500 => ("That cannot be done here", "Go back to the page before and try another way."),
            _ => ("Something went wrong at our side", "It is not your doing, and it has been written down for the people who look after this service. Try again in a moment."),
        };
        Reference = code == StatusCodes.Status500InternalServerError ? Activity.Current?.TraceId.ToString() ?? HttpContext.TraceIdentifier : null;
    }
}
