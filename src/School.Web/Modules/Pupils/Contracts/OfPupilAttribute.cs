using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.Filters;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Offline;

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

    /// <summary>It names a lesson, and shows those that the viewer gives alone: of another there is nothing to open.</summary>
    public bool Given { get; init; }

    /// <summary>It goes into the diary, which whoever keeps it keeps for everybody.</summary>
    public bool Diary { get; init; }

    private GateKey Key => new(key, Given ? GateOf.LessonGiven : Lesson ? GateOf.Lesson : GateOf.Pupil, Diary);

    public Task OnPageHandlerSelectionAsync(PageHandlerSelectedContext context) => Task.CompletedTask;

    public async Task OnPageHandlerExecutionAsync(PageHandlerExecutingContext context, PageHandlerExecutionDelegate next)
    {
        var http = context.HttpContext;
        // Who gave a lesson writes down what was taught in it, also a week later.
        var writes = !HttpMethods.IsGet(http.Request.Method) && !HttpMethods.IsHead(http.Request.Method);
        if (await PupilGate.NamesSeveralAsync(http, Key))
        {
            context.Result = new NotFoundResult();
        }
        else if ((Lesson || Given) && writes)
        {
            // What was written stays written; what is shown again is for who sees it.
            var done = await next();
            if (done.Result is PageResult && !KeptOfflineAttribute.Waited(http.Request) && await PupilGate.RefuseAsync(http, Key, least) is { } hidden)
            {
                done.Result = Instead(hidden);
            }
        }
        else if (await PupilGate.RefuseAsync(http, Key, least) is not { } refused)
        {
            await next();
        }
        else
        {
            KeptOfflineAttribute.Refuse(http, refused.Refusal);
            context.Result = Instead(refused);
        }

        LocalRedirectResult Instead((Guid Pupil, Refusal Refusal) refused) => refused.Refusal.Code == OwnPupils.NotYoursCode
            ? new($"{OwnPupils.PageOf(refused.Pupil)}?own=true")
            : new(OwnPupils.PageOf(refused.Pupil) + (writes ? "" : $"?to={Uri.EscapeDataString($"{http.Request.Path}{http.Request.QueryString}")}"));
    }
}

/// <summary>What a part of an address names.</summary>
internal enum GateOf
{
    Pupil,
    Lesson,

    /// <summary>A lesson that the viewer gives; of another there is nothing to open.</summary>
    LessonGiven,
}

/// <summary>The part of an address that names a pupil or a lesson, in the path or behind the question mark.</summary>
/// <param name="Name">Its name.</param>
/// <param name="Of">Which of them it names.</param>
/// <param name="Diary">Whoever keeps the diary passes.</param>
internal readonly record struct GateKey(string Name, GateOf Of, bool Diary = false);

/// <summary>The same for the API.</summary>
internal static class PupilGate
{
    private static readonly object Seen = new();

    /// <summary>Refuses who sees less of the pupil than this answers: 403 <c>reason_needed</c>, or <c>not_your_pupil</c> where no reason would do.</summary>
    /// <param name="endpoint">The endpoint.</param>
    /// <param name="least">How much one must see.</param>
    /// <param name="key">The part of the address that names the pupil or the lesson.</param>
    /// <param name="of">Which of them it names.</param>
    /// <param name="diary">It goes into the diary, which whoever keeps it keeps for everybody.</param>
    public static RouteHandlerBuilder OfPupil(this RouteHandlerBuilder endpoint, Sight least, string key = "id", GateOf of = GateOf.Pupil, bool diary = false) => endpoint.AddEndpointFilter(
        async (context, next) => await RefuseAsync(context.HttpContext, new(key, of, diary), least) is { } refused ? refused.Refusal.ToProblem() : await next(context));

    /// <summary>How much this request was found to see of its pupil.</summary>
    public static Sight SightOf(this HttpContext http) => http.Items[Seen] is Sight sight ? sight : Sight.Everything;

    /// <summary>Whether the request names more than one, in its path, behind the question mark and in its form together: what is looked at here might then not be what is answered.</summary>
    public static async Task<bool> NamesSeveralAsync(HttpContext http, GateKey key) => (await NamedAsync(http, key)).Count > 1;

    private static async Task<List<string>> NamedAsync(HttpContext http, GateKey key)
    {
        var form = http.Request.HasFormContentType ? (await http.Request.ReadFormAsync(http.RequestAborted))[key.Name] : default;
        return [.. new[] { http.GetRouteValue(key.Name) as string }.Concat(http.Request.Query[key.Name]).Concat(form).OfType<string>().Distinct(StringComparer.OrdinalIgnoreCase)];
    }

    public static async Task<(Guid PupilId, Refusal Refusal)?> RefuseAsync(HttpContext http, GateKey key, Sight least)
    {
        var named = await NamedAsync(http, key);
        if (named.Count > 1)
        {
            return (Guid.Empty, Refusal.Invalid(key.Name, "Name one, and once."));
        }

        var text = named.FirstOrDefault();
        if (!Guid.TryParse(text, out var id) || Viewer.From(http.User) is not { } viewer
            || (key.Diary && viewer.KeepsDiary) || (viewer.InstructorId is null && !OwnPupils.IsOffice(viewer)))
        {
            return null;
        }

        var own = http.RequestServices.GetRequiredService<OwnPupils>();
        (Guid PupilId, Sight Sight)? seen = key.Of == GateOf.Pupil
            ? (id, await own.OfKnownAsync(viewer, id, http.RequestAborted))
            : await own.OfLessonAsync(viewer, id, key.Of == GateOf.LessonGiven, http.RequestAborted);
        if (seen is not { } at)
        {
            return null;
        }

        http.Items[Seen] = at.Sight;
        return at.Sight >= least ? null
            : (at.PupilId, at.Sight == Sight.Name && least == Sight.ByReason ? OwnPupils.ReasonNeeded(viewer, at.PupilId) : OwnPupils.NotYoursTo(viewer));
    }
}
