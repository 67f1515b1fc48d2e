using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.Filters;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Pupils.Contracts;

/// <summary>
/// A page about a pupil, or about a lesson of one: who sees less of them than it shows is led to where a reason is given, or told whose they are.
/// </summary>
/// <param name="key">The part of the address that names the pupil or the lesson, in the path or behind the question mark.</param>
/// <param name="least">How much one must see.</param>
[AttributeUsage(AttributeTargets.Class)]
internal sealed class OfPupilAttribute(string key, Sight least) : Attribute, IAsyncPageFilter
{
    /// <summary>It names a lesson.</summary>
    public bool Lesson { get; init; }

    public Task OnPageHandlerSelectionAsync(PageHandlerSelectedContext context) => Task.CompletedTask;

    public async Task OnPageHandlerExecutionAsync(PageHandlerExecutingContext context, PageHandlerExecutionDelegate next)
    {
        var http = context.HttpContext;
        // Who gave a lesson writes down what was taught in it, also a week later.
        var writes = !HttpMethods.IsGet(http.Request.Method) && !HttpMethods.IsHead(http.Request.Method);
        if (Lesson && writes)
        {
            await next();
            return;
        }

        if (await PupilGate.RefuseAsync(http, key, least, Lesson) is not { } refused)
        {
            await next();
            return;
        }

        var (pupil, refusal) = refused;
        context.Result = refusal.Code == OwnPupils.NotYours.Code
            ? new LocalRedirectResult($"{OwnPupils.PageOf(pupil)}?own=true")
            : new LocalRedirectResult(OwnPupils.PageOf(pupil) + (writes ? "" : $"?to={Uri.EscapeDataString($"{http.Request.Path}{http.Request.QueryString}")}"));
    }
}

/// <summary>The same for the API.</summary>
internal static class PupilGate
{
    /// <summary>Refuses who sees less of the pupil than this answers: 403 <c>reason_needed</c>, or <c>not_your_pupil</c> where no reason would do.</summary>
    /// <param name="endpoint">The endpoint.</param>
    /// <param name="least">How much one must see.</param>
    /// <param name="key">The part of the address that names the pupil or the lesson.</param>
    /// <param name="lesson">It names a lesson.</param>
    public static RouteHandlerBuilder OfPupil(this RouteHandlerBuilder endpoint, Sight least, string key = "id", bool lesson = false) => endpoint.AddEndpointFilter(
        async (context, next) => await RefuseAsync(context.HttpContext, key, least, lesson) is { } refused ? refused.Refusal.ToProblem() : await next(context));

    /// <summary>How much this request was found to see of its pupil.</summary>
    public static Sight SightOf(this HttpContext http) => http.Items[Seen] is Sight sight ? sight : Sight.Everything;

    private static readonly object Seen = new();

    public static async Task<(Guid PupilId, Refusal Refusal)?> RefuseAsync(HttpContext http, string key, Sight least, bool lesson)
    {
        var text = http.GetRouteValue(key) as string ?? http.Request.Query[key].FirstOrDefault();
        if (!Guid.TryParse(text, out var id) || Viewer.From(http.User) is not { } viewer || OwnPupils.SeesAll(viewer) || viewer.InstructorId is null)
        {
            return null;
        }

        var own = http.RequestServices.GetRequiredService<OwnPupils>();
        var seen = lesson ? await own.OfLessonAsync(viewer, id, http.RequestAborted) : (PupilId: id, Sight: await own.OfKnownAsync(viewer, id, http.RequestAborted));
        if (seen is { } known)
        {
            http.Items[Seen] = known.Sight;
        }

        return seen is { } at && at.Sight < least
            ? (at.PupilId, at.Sight == Sight.Name && least == Sight.ByReason ? OwnPupils.ReasonNeeded(at.PupilId) : OwnPupils.NotYours)
            : null;
    }
}
