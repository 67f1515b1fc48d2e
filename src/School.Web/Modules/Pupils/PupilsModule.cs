using School.Web.Modules.Pupils.Contracts;

namespace School.Web.Modules.Pupils;

/// <summary>Table of contents of the module: services, routes, recurring jobs.</summary>
internal static class PupilsModule
{
    public static IServiceCollection AddPupils(this IServiceCollection services)
    {
        services.AddScoped<PupilBook>();
        return services;
    }

    public static void MapPupils(this IEndpointRouteBuilder app)
    {
    }
}
