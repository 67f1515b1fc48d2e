using System.Globalization;
using Microsoft.AspNetCore.Mvc.ModelBinding;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Web.Platform.Access;

namespace School.Web.Platform.Errors;

/// <summary>The one place where a refusal becomes RFC 9457 problem details or messages on a form.</summary>
internal static class Problems
{
    public static int StatusOf(RefusalKind kind) => kind switch
    {
        RefusalKind.Invalid => StatusCodes.Status400BadRequest,
        RefusalKind.NotFound => StatusCodes.Status404NotFound,
        RefusalKind.Conflict => StatusCodes.Status409Conflict,
        RefusalKind.Stale => StatusCodes.Status412PreconditionFailed,
        RefusalKind.TooLarge => StatusCodes.Status413PayloadTooLarge,
        RefusalKind.AddressTooLong => StatusCodes.Status414UriTooLong,
        RefusalKind.TooMany => StatusCodes.Status429TooManyRequests,
        RefusalKind.Rule => StatusCodes.Status422UnprocessableEntity,
        RefusalKind.NotSignedIn => StatusCodes.Status401Unauthorized,
        RefusalKind.Away => StatusCodes.Status503ServiceUnavailable,
        RefusalKind.NotAllowed => StatusCodes.Status403Forbidden,
    };

    public static IResult ToProblem(this Refusal refusal) => new Answer(refusal);

    private static IResult Document(Refusal refusal, Viewer? reader)
    {
        var extensions = new Dictionary<string, object?>(refusal.More) { ["code"] = refusal.Code };
        if (refusal.Fields.Count > 0)
        {
            extensions["errors"] = refusal.Fields.ToDictionary(f => CamelPath(f.Key), f => f.Value);
        }

        var problem = Results.Problem(detail: refusal.For(reader), statusCode: StatusOf(refusal.Kind), title: TitleOf(refusal.Kind), extensions: extensions);
        return refusal.RetryAfter is { } wait ? new Later(problem, wait) : problem;
    }

    private const string RefusalKey = "‹refusal›";

    /// <summary>Puts the refusal on a form: beside its fields where it names them, else in the summary.</summary>
    public static void AddRefusal(this PageModel page, Refusal refusal, string prefix = "")
    {
        var state = page.ModelState;
        // Beside the sentences, for what answers with the code.
        state.SetModelValue(RefusalKey, refusal, null);
        if (refusal.Fields.Count == 0)
        {
            state.AddModelError(string.Empty, refusal.For(Viewer.From(page.User)));
        }

        foreach (var (field, sentences) in refusal.Fields)
        {
            foreach (var sentence in sentences)
            {
                state.AddModelError(prefix.Length == 0 ? field : $"{prefix}.{field}", sentence);
            }
        }
    }

    /// <summary>The refusal that was put on the form, if one was.</summary>
    public static Refusal? Refusal(this ModelStateDictionary state) => state.TryGetValue(RefusalKey, out var entry) ? entry.RawValue as Refusal : null;

    /// <summary>Worded when it is written, for who asked.</summary>
    private sealed class Answer(Refusal refusal) : IResult
    {
        public Task ExecuteAsync(HttpContext httpContext) => Document(refusal, Viewer.From(httpContext.User)).ExecuteAsync(httpContext);
    }

    private static string TitleOf(RefusalKind kind) => kind switch
    {
        RefusalKind.Invalid => "Some of this is not right",
        RefusalKind.NotFound => "Not found",
        RefusalKind.Conflict => "Somebody else's change stands in the way",
        RefusalKind.Stale => "Changed by somebody else",
        RefusalKind.TooLarge => "Too large",
        RefusalKind.AddressTooLong => "Too long",
        RefusalKind.TooMany => "Too many tries",
        RefusalKind.Rule => "A rule says no",
        RefusalKind.NotSignedIn => "Not signed in",
        RefusalKind.NotAllowed => "Not yours",
        RefusalKind.Away => "Not just now",
    };

    private static string CamelPath(string path) =>
        string.Join('.', path.Split('.').Select(part => part.Length == 0 ? part : char.ToLowerInvariant(part[0]) + part[1..]));

    /// <summary>An answer with the seconds to wait (RFC 9110 section 10.2.3).</summary>
    private sealed class Later(IResult answer, Duration wait) : IResult
    {
        public Task ExecuteAsync(HttpContext httpContext)
        {
            httpContext.Response.Headers.RetryAfter = ((long)Math.Ceiling(wait.TotalSeconds)).ToString(CultureInfo.InvariantCulture);
            return answer.ExecuteAsync(httpContext);
        }
    }
}
