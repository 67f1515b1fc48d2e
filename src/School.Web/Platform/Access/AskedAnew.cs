using Microsoft.AspNetCore.Authentication;

namespace School.Web.Platform.Access;

/// <summary>Marks an endpoint of the API to which the browser's session is as good as a token: one that reads, and that pages read by themselves.</summary>
internal sealed class TakesCookie;

/// <summary>Who asks, found out once more in the midst of a long answer: a request with the same credentials, in a scope of its own.</summary>
internal static class AskedAnew
{
    /// <summary>Null where the session or the token opens nothing any more.</summary>
    public static async Task<Viewer?> ViewerAsync(HttpContext asked)
    {
        await using var scope = asked.RequestServices.GetRequiredService<IServiceScopeFactory>().CreateAsyncScope();
        var again = new DefaultHttpContext { RequestServices = scope.ServiceProvider, RequestAborted = asked.RequestAborted };
        (again.Request.Method, again.Request.Path, again.Request.Scheme, again.Request.Host) = (asked.Request.Method, asked.Request.Path, asked.Request.Scheme, asked.Request.Host);
        again.Request.Headers.Authorization = asked.Request.Headers.Authorization;
        again.Request.Headers.Cookie = asked.Request.Headers.Cookie;
        again.SetEndpoint(asked.GetEndpoint());
        var found = await again.AuthenticateAsync();
        return found.Principal is { } principal && found.Succeeded ? Viewer.From(principal) : null;
    }
}
