using School.Web.Modules.Travel.Contracts;
using School.Web.Modules.Travel.Routing;
using School.Web.Platform.Database;
using School.Web.Platform.Jobs;

namespace School.Web.Modules.Travel;

/// <summary>Table of contents of the module: services, routes, recurring jobs.</summary>
internal static class TravelModule
{
    private const string EveryMinute = "* * * * *";
    private const string EveryHour = "17 * * * *";

    public static IServiceCollection AddTravel(this IServiceCollection services, IConfiguration configuration)
    {
        services.AddScoped<TravelModel>();
        services.AddScoped<ChangeTravelSettings>();
        services.AddScoped<DriveLog>();
        services.AddScoped<BeginDrive>();
        services.AddScoped<EndDrive>();
        services.AddScoped<RecordLeg>();
        services.AddScoped<RemoveLeg>();
        services.AddScoped<FitTravel>();
        services.AddScoped<UseTravelFit>();
        services.AddScoped<IModuleDefaults, TravelDefaults>();
        services.AddSingleton(_ => RoutingSettings.Read(configuration));
        services.AddSingleton<TableClient>();
        services.AddSingleton<RoutingBreaker>();
        services.AddSingleton<RoadDrives>();
        services.AddScoped<TryRoutingAgain>();
        services.AddScoped<ClearOldTravel>();
        services.AddSingleton(RecordedDrive.Retention);
        services.AddRecurringJob<TryRoutingAgain>(TryRoutingAgain.Job, EveryMinute, job => job.RunAsync(CancellationToken.None));
        services.AddRecurringJob<ClearOldTravel>(ClearOldTravel.Job, EveryHour, job => job.RunAsync(CancellationToken.None));
        return services;
    }

    public static void MapTravel(this IEndpointRouteBuilder app)
    {
        // Read now, so that a mistake in the configuration stops the start.
        _ = app.ServiceProvider.GetRequiredService<RoutingSettings>();
        app.MapTravelSettings();
        app.MapTravelFit();
        app.MapLegs();
    }
}
