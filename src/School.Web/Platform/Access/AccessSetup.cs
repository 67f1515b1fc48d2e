using System.Security.Claims;
using Microsoft.AspNetCore.Authorization;

namespace School.Web.Platform.Access;

/// <summary>Marks a page with the permission that opens it.</summary>
[AttributeUsage(AttributeTargets.Class)]
internal sealed class NeedsAttribute(Permission permission) : AuthorizeAttribute(AccessSetup.PolicyOf(permission))
{
    public Permission Permission { get; } = permission;
}

internal static class AccessSetup
{
    /// <summary>Scheme that API tokens sign in with.</summary>
    public const string TokenScheme = "Bearer";

    /// <summary>Scheme that picks the token for the API and the cookie for everything else.</summary>
    public const string EitherScheme = "Either";

    public static string PolicyOf(Permission permission) => $"may:{permission}";

    /// <summary>A token that may only read was sent with something else.</summary>
    public static bool ReadsOnlyAndWrites(ClaimsPrincipal user, HttpContext? context) =>
        user.HasClaim(AccessClaims.ReadsOnly, "yes") && !(context?.Request.Method is { } method && (HttpMethods.IsGet(method) || HttpMethods.IsHead(method)));

    public static TBuilder Needs<TBuilder>(this TBuilder endpoint, Permission permission)
        where TBuilder : IEndpointConventionBuilder =>
        endpoint.RequireAuthorization(new NeedsAttribute(permission));

    public static IServiceCollection AddAccess(this IServiceCollection services)
    {
        services.AddHttpContextAccessor();
        services.AddScoped(provider =>
            provider.GetService<ViewerOverride>()?.Viewer
            ?? Viewer.From(provider.GetRequiredService<IHttpContextAccessor>().HttpContext?.User ?? new())
            ?? throw new InvalidOperationException("Nobody is signed in here; the endpoint lacks a permission."));
        services.AddScoped<ViewerOverride>();
        services.AddAuthorization(options =>
        {
            foreach (var permission in Enum.GetValues<Permission>())
            {
                options.AddPolicy(PolicyOf(permission), policy => policy.RequireAuthenticatedUser().RequireAssertion(
                    context => Viewer.From(context.User) is { } viewer && viewer.May(permission) && !ReadsOnlyAndWrites(context.User, context.Resource as HttpContext)));
            }

            // A page or endpoint that forgets to say is closed, not open.
            options.FallbackPolicy = new AuthorizationPolicyBuilder().RequireAuthenticatedUser().Build();
        });
        return services;
    }
}

/// <summary>Lets a job or the demo generator act through the same verbs in its own scope.</summary>
internal sealed class ViewerOverride
{
    public Viewer? Viewer { get; set; }
}
