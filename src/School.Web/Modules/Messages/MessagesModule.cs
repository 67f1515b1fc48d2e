using School.Web.Modules.Messages.Contracts;

namespace School.Web.Modules.Messages;

/// <summary>Table of contents of the module: services, routes, recurring jobs.</summary>
internal static class MessagesModule
{
    public static IServiceCollection AddMessages(this IServiceCollection services, IConfiguration configuration)
    {
        services.AddScoped<Outbox>();
        return services;
    }

    public static void MapMessages(this IEndpointRouteBuilder app)
    {
    }
}
