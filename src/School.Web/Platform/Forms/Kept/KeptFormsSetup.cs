using Microsoft.AspNetCore.Mvc;
using School.Web.Platform.Jobs;

namespace School.Web.Platform.Forms.Kept;

internal static class KeptFormsSetup
{
    private const string EveryTenMinutes = "*/10 * * * *";

    public static void AddKeptForms(this IServiceCollection services)
    {
        services.AddScoped<KeptForms>();
        services.Configure<MvcOptions>(options => options.Filters.Add<KeptFormFilter>());
        services.AddRecurringJob<KeptForms>(KeptForms.Job, EveryTenMinutes, job => job.ForgetOldAsync(CancellationToken.None));
    }
}
