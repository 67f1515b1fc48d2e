using School.Web.Modules.Travel.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Travel;

/// <summary>Table of contents of the module: services, routes, recurring jobs.</summary>
internal static class TravelModule
{
    public static IServiceCollection AddTravel(this IServiceCollection services)
    {
        services.AddScoped<TravelModel>();
        services.AddScoped<ChangeTravelSettings>();
        services.AddScoped<IModuleDefaults, TravelDefaults>();
        return services;
    }

    public static void MapTravel(this IEndpointRouteBuilder app)
    {
        app.MapTravelSettings();
    }
}
