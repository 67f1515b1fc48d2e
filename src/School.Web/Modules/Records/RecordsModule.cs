using School.Web.Modules.Records.Contracts;
using School.Web.Modules.Records.Retention;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Database;
using School.Web.Platform.Jobs;

namespace School.Web.Modules.Records;

/// <summary>Table of contents of the module: services, routes, recurring jobs.</summary>
internal static class RecordsModule
{
    // UTC; at night where schools are.
    private const string EveryNight = "40 2 * * *";

    public static IServiceCollection AddRecords(this IServiceCollection services)
    {
        services.AddScoped<Audit>();
        services.AddScoped<INoteChanges>(provider => provider.GetRequiredService<Audit>());
        services.AddScoped<IModuleDefaults, RetentionDefaults>();
        services.AddScoped<RetentionPeriods>();
        services.AddScoped<RetentionLook>();
        services.AddScoped<ChangeRetention>();
        services.AddScoped<ClearKept>();
        services.AddSingleton(new ProblemMember("sources", typeof(IReadOnlyList<RetentionLink>), "Where it can be read why it is kept for so long, with 422 kept_too_short."));
        services.AddSingleton<IAuditLabels>(new PlainAuditLabels("retention", "what is kept", null));
        Array.ForEach(OwnRetention.Rules, rule => services.AddSingleton(rule));
        services.AddRecurringJob<ClearKept>(ClearKept.Job, EveryNight, job => job.RunAsync(CancellationToken.None));
        return services;
    }

    public static void MapRecords(this IEndpointRouteBuilder app)
    {
        app.MapAudit();
        app.MapRetention();
    }
}
