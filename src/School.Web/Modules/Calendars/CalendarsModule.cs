namespace School.Web.Modules.Calendars;

/// <summary>Table of contents of the module: services, routes, recurring jobs.</summary>
internal static class CalendarsModule
{
    public static IServiceCollection AddCalendars(this IServiceCollection services)
    {
        services.AddScoped<FeedContent>();
        services.AddScoped<ReadFeed>();
        services.AddScoped<MakeFeed>();
        services.AddScoped<RevokeFeed>();
        // The framework writes every request's path into the log at Information, and the path of a feed is its key. Proxies must do likewise.
        services.AddLogging(logging => logging.AddFilter("Microsoft.AspNetCore.Hosting.Diagnostics", LogLevel.Warning));
        return services;
    }

    public static void MapCalendars(this IEndpointRouteBuilder app) => app.MapFeedEndpoints();
}
