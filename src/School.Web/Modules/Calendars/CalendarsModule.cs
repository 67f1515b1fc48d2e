using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Operations;

namespace School.Web.Modules.Calendars;

/// <summary>Table of contents of the module: services, routes, recurring jobs.</summary>
internal static class CalendarsModule
{
    public static IServiceCollection AddCalendars(this IServiceCollection services)
    {
        services.AddSingleton(new EndedByRenewal("calendars.feeds", "UPDATE calendars.feeds SET revoked_at = now() WHERE revoked_at IS NULL"));
        services.AddSingleton(new RetentionRule(
            "revoked_feeds", "Calendar addresses that were taken back", "The row, from when the address was taken back.",
            "It tells for a while who had the address; that it was made and taken back stands in the audit.")
        {
            Days = 365,
            Least = 30,
            Most = 1_461,
            Table = "calendars.feeds",
            Key = "id",
            Of = "r.revoked_at IS NOT NULL",
            Since = "r.revoked_at",
        });
        services.AddScoped<FeedContent>();
        services.AddSingleton<IAuditLabels>(new PlainAuditLabels("feed", "a sign-in", null));
        services.AddScoped<FeedAnswer>();
        services.AddScoped<MakeFeed>();
        services.AddScoped<RevokeFeed>();
        // The framework writes the path of every request into the log, and into the scope of every other line; the path of a feed
        // is its key. Errors are logged by the exception handler too. Logs of a proxy must leave /calendar out likewise.
        services.AddLogging(logging => logging.AddFilter("Microsoft.AspNetCore.Hosting.Diagnostics", LogLevel.None));
        return services;
    }

    public static void MapCalendars(this IEndpointRouteBuilder app) => app.MapFeedEndpoints();
}
