using Microsoft.Net.Http.Headers;
using School.Web.Platform.Access;

namespace School.Web.Platform.Api;

/// <summary>401 says how to sign in (RFC 9110, 15.5.2), whoever answered it.</summary>
internal static class Challenge
{
    public static IApplicationBuilder UseChallenge(this IApplicationBuilder app) => app.Use((context, next) =>
    {
        if (context.IsApi())
        {
            context.Response.OnStarting(() =>
            {
                if (context.Response.StatusCode == StatusCodes.Status401Unauthorized && !context.Response.Headers.ContainsKey(HeaderNames.WWWAuthenticate))
                {
                    context.Response.Headers.WWWAuthenticate = AccessSetup.TokenScheme;
                }

                return Task.CompletedTask;
            });
        }

        return next(context);
    });
}
