using System.Text.Json;
using System.Text.Json.Serialization.Metadata;

namespace School.Web.Platform.Api;

internal static class ApiSetup
{
    public const string Prefix = "/api/v1";

    public static IServiceCollection AddApi(this IServiceCollection services)
    {
        services.ConfigureHttpJsonOptions(options => RequireWhatHasNoDefault(Json.Configure(options.SerializerOptions)));
        services.Configure<RouteHandlerOptions>(options => options.ThrowOnBadRequest = true);
        services.AddProblemDetails();
        services.AddOpenApi(OpenApiSetup.Document, OpenApiSetup.Configure);
        return services;
    }

    /// <summary>What a request must hold follows from its type: a parameter of the constructor that allows no null and has no default.</summary>
    private static void RequireWhatHasNoDefault(JsonSerializerOptions json) =>
        json.TypeInfoResolver = new DefaultJsonTypeInfoResolver().WithAddedModifier(info =>
        {
            foreach (var member in info.Properties.Where(member => member.AssociatedParameter is { HasDefaultValue: false, IsNullable: false }))
            {
                member.IsRequired = true;
            }
        });

    /// <summary>The group that every endpoint of the API joins.</summary>
    public static RouteGroupBuilder MapApi(this IEndpointRouteBuilder app, string resource) =>
        app.MapGroup($"{Prefix}/{resource}").WithTags(resource).RefuseEmpty();

    public static bool IsApi(this HttpContext context) => context.Request.Path.StartsWithSegments("/api/v1");
}
