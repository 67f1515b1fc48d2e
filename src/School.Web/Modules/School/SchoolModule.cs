using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;
using School.Web.Platform.Layout;

namespace School.Web.Modules.School;

/// <summary>Table of contents of the module on which all others stand: what the school is, and what others ask of each other through it.</summary>
internal static class SchoolModule
{
    public static IServiceCollection AddSchool(this IServiceCollection services)
    {
        services.AddSingleton<SchoolQuery>();
        services.AddScoped<SchoolInfo>();
        services.AddScoped<IHeading, HeadingOfSchool>();
        services.AddSingleton<PublicUrl>();
        services.AddScoped<Ahead>();
        services.AddScoped<SaveSchool>();
        services.AddScoped<NameSchool>();
        services.AddScoped<FirstSteps>();
        services.AddScoped<IFirstSteps, SchoolSteps>();
        services.AddScoped<IModuleDefaults, SchoolProfileDefaults>();
        return services;
    }

    public static void MapSchool(this IEndpointRouteBuilder app)
    {
        if (!app.ServiceProvider.GetRequiredService<PublicUrl>().IsSet)
        {
            PublicUrl.NotSet(app.ServiceProvider.GetRequiredService<ILoggerFactory>().CreateLogger<PublicUrl>());
        }
    }
}
