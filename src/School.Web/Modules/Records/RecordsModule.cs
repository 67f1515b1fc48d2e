using School.Web.Modules.Records.Contracts;
using School.Web.Modules.Records.Retention;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Records;

/// <summary>Table of contents of the module: services, routes, recurring jobs.</summary>
internal static class RecordsModule
{
    public static IServiceCollection AddRecords(this IServiceCollection services)
    {
        services.AddScoped<Audit>();
        services.AddScoped<IModuleDefaults, RetentionDefaults>();
        services.AddScoped<INoteChanges>(provider => provider.GetRequiredService<Audit>());
        return services;
    }

    public static void MapRecords(this IEndpointRouteBuilder app)
    {
        app.MapAudit();
    }
}
