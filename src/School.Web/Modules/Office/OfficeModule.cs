using School.Web.Modules.School.Contracts;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Office;

/// <summary>Table of contents of the module on top: it shows the office what the others contribute.</summary>
internal static class OfficeModule
{
    public static IServiceCollection AddOffice(this IServiceCollection services)
    {
        services.AddScoped<PaperList>();
        services.AddScoped<AttentionList>();
        services.AddScoped<SayWho>();
        services.AddScoped<IFirstPage, BeginAtFirstSteps>();
        services.AddScoped<INeedAttention, PapersToHeed>();
        services.AddScoped<INeedAttention, KeysToGuard>();
        return services;
    }

    public static void MapOffice(this IEndpointRouteBuilder app)
    {
        app.MapAttention();
        app.MapAllPapers();
        app.MapFind();
    }
}
