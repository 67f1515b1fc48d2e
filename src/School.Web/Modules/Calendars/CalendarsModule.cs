namespace School.Web.Modules.Calendars;

/// <summary>Table of contents of the module: services, routes, recurring jobs.</summary>
internal static class CalendarsModule
{
    public static IServiceCollection AddCalendars(this IServiceCollection services)
    {
        
        return services;
    }

    public static void MapCalendars(this IEndpointRouteBuilder app)
    {
    }
}
