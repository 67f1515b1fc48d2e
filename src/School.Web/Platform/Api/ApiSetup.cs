namespace School.Web.Platform.Api;

internal static class ApiSetup
{
    public const string Prefix = "/api/v1";

    public static IServiceCollection AddApi(this IServiceCollection services)
    {
        services.ConfigureHttpJsonOptions(options => Json.Configure(options.SerializerOptions));
        services.Configure<RouteHandlerOptions>(options => options.ThrowOnBadRequest = true);
        services.AddProblemDetails();
        services.AddOpenApi(OpenApiSetup.Document, OpenApiSetup.Configure);
        return services;
    }

    /// <summary>The group that every endpoint of the API joins.</summary>
    public static RouteGroupBuilder MapApi(this IEndpointRouteBuilder app, string resource) =>
        app.MapGroup($"{Prefix}/{resource}").WithTags(resource);

    public static bool IsApi(this HttpContext context) => context.Request.Path.StartsWithSegments("/api/v1");
}
