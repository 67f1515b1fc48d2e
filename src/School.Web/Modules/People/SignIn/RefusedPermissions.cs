using Microsoft.AspNetCore.Authentication;
using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.Authorization.Policy;
using School.Web.Platform.Access;
using School.Web.Platform.Api;

namespace School.Web.Modules.People.SignIn;

/// <summary>Writes down who was refused what, and keeps the form of somebody whose session had ended; the answer is the framework's as before.</summary>
internal sealed class RefusedPermissions : IAuthorizationMiddlewareResultHandler
{
    private readonly AuthorizationMiddlewareResultHandler _usual = new();

    public async Task HandleAsync(RequestDelegate next, HttpContext context, AuthorizationPolicy policy, PolicyAuthorizationResult authorizeResult)
    {
        // Who has yet to set up the second step is led there, which is no refusal.
        if (authorizeResult.Forbidden && Viewer.From(context.User) is { SecondStepMissing: false } viewer && context.GetEndpoint() is { } endpoint)
        {
            var permission = endpoint.Metadata.GetMetadata<NeedsAttribute>()?.Permission.ToString() ?? "nothing that is open";
            // The pattern and not the address: an address may hold a secret.
            var route = (endpoint as RouteEndpoint)?.RoutePattern.RawText ?? "";
            await context.RequestServices.GetRequiredService<SignInEvents>().RefusedAsync(viewer, permission, route, context.RequestAborted);
        }

        if (authorizeResult.Challenged && !context.IsApi() && await context.RequestServices.GetRequiredService<LateForms>().KeepAsync(context, context.RequestAborted) is { } onWith)
        {
            await context.ChallengeAsync(new AuthenticationProperties { RedirectUri = onWith });
            return;
        }

        await _usual.HandleAsync(next, context, policy, authorizeResult);
    }
}
