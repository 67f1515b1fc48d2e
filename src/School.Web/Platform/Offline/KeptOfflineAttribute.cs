using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.Filters;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Platform.Offline;

/// <summary>
/// Marks a page whose form may wait on a phone that has no signal. A form that comes from there names the person who wrote it
/// and carries an Idempotency-Key; it takes effect once, and only as that person, and what became of it is told as JSON.
/// The same form sent by a browser without scripts is answered as ever.
/// </summary>
[AttributeUsage(AttributeTargets.Class)]
internal sealed class KeptOfflineAttribute : Attribute, IAsyncPageFilter, ITakesIdempotencyKey
{
    public const string PersonHeader = "School-Person";

    /// <summary>Whether a form comes from where it waited: it is answered as JSON, and no page is shown.</summary>
    public static bool Waited(HttpRequest request) => HttpMethods.IsPost(request.Method) && request.Headers.ContainsKey(Idempotency.Header) && request.Headers.ContainsKey(PersonHeader);

    /// <summary>Says that a page leads elsewhere because it refused, not because it did what was asked.</summary>
    public static void Refuse(HttpContext http, Refusal refusal) => http.Items[typeof(KeptOfflineAttribute)] = refusal;

    public Task OnPageHandlerSelectionAsync(PageHandlerSelectedContext context) => Task.CompletedTask;

    public async Task OnPageHandlerExecutionAsync(PageHandlerExecutingContext context, PageHandlerExecutionDelegate next)
    {
        var request = context.HttpContext.Request;
        if (!HttpMethods.IsPost(request.Method) || !request.Headers.ContainsKey(Idempotency.Header))
        {
            await next();
            return;
        }

        if (!Guid.TryParse(request.Headers[PersonHeader], out var writer) || Viewer.From(context.HttpContext.User)?.PersonId != writer)
        {
            context.Result = Answer(StatusCodes.Status409Conflict, new("other_person", "other_person", "Somebody else wrote this. It waits for them to sign in."));
            return;
        }

        var done = await next();
        if (done.Exception is null && context.HandlerInstance is PageModel page)
        {
            done.Result = Told(page, done.Result);
        }
    }

    private static IActionResult? Told(PageModel page, IActionResult? result) => result switch
    {
        LocalRedirectResult when page.HttpContext.Items.TryGetValue(typeof(KeptOfflineAttribute), out var said) && said is Refusal refused => Answer(
            Problems.StatusOf(refused.Kind), new("refused", refused.Code, refused.For(Viewer.From(page.User)))),
        LocalRedirectResult to => Sent(page, to.Url),
        RedirectToPageResult to => Sent(page, page.Url.Page(to.PageName, to.PageHandler, to.RouteValues)),
        NotFoundResult => Answer(
            StatusCodes.Status404NotFound, new("refused", "not_found", "There is no such lesson any more, or it is not yours to record. The office can say what became of it.")),
        PageResult => Refused(page),
        _ => result,
    };

    private static JsonResult Sent(PageModel page, string? next) =>
        Answer(StatusCodes.Status200OK, new("sent", Sentence: page.TempData.Peek("Done") as string, Next: next));

    private static JsonResult Refused(PageModel page)
    {
        var state = page.ModelState;
        var errors = state.Where(entry => entry.Value?.Errors.Count > 0)
            .ToDictionary(entry => entry.Key, entry => entry.Value!.Errors.Select(error => FormSetup.Sentence(error, null)).ToArray());
        var sentence = string.Join(' ', errors.Values.SelectMany(sentences => sentences));
        return state.Refusal() is { } refusal
            ? Answer(Problems.StatusOf(refusal.Kind) is var status && status == StatusCodes.Status400BadRequest ? StatusCodes.Status422UnprocessableEntity : status,
                new(refusal.Kind is RefusalKind.Stale ? "stale" : "refused", refusal.Code, sentence, errors))
            : Answer(StatusCodes.Status422UnprocessableEntity, new("refused", "invalid", sentence, errors));
    }

    private static JsonResult Answer(int status, SendOutcome outcome) => new(outcome) { StatusCode = status };
}

/// <summary>What became of a form that waited: sent, stale, refused or other_person.</summary>
/// <param name="Outcome">The one word that the page acts on.</param>
/// <param name="Code">The refusal's stable code.</param>
/// <param name="Sentence">What to tell the person.</param>
/// <param name="Errors">Sentences by the name of their field; the empty name for the whole form.</param>
/// <param name="Next">The address to go on to once it is sent.</param>
internal sealed record SendOutcome(
    string Outcome, string? Code = null, string? Sentence = null, IReadOnlyDictionary<string, string[]>? Errors = null, string? Next = null);
