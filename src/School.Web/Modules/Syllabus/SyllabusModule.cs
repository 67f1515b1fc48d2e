using School.Web.Platform.Database;

namespace School.Web.Modules.Syllabus;

/// <summary>Table of contents of the module: services, routes, recurring jobs.</summary>
internal static class SyllabusModule
{
    public static IServiceCollection AddSyllabus(this IServiceCollection services)
    {
        services.AddScoped<IModuleDefaults, SyllabusDefaults>();
        services.AddSingleton<EditionMemory>();
        services.AddScoped<SyllabusBook>();
        services.AddScoped<LearningReader>();
        return services;
    }

    public static void MapSyllabus(this IEndpointRouteBuilder app)
    {
    }
}
