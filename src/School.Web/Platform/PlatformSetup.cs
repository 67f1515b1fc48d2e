using Microsoft.AspNetCore.DataProtection;
using Microsoft.AspNetCore.HttpOverrides;
using NodaTime;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Security;

namespace School.Web.Platform;

internal static class PlatformSetup
{
    public static IServiceCollection AddPlatform(this IServiceCollection services, IConfiguration configuration, string connectionString)
    {
        services.AddSingleton<IClock>(SystemClockOnly());
        services.AddDatabase(connectionString);
        services.AddDataProtection().SetApplicationName("School").PersistKeysToDbContext<SchoolDb>();
        services.AddScoped<Sealer>();
        services.AddScoped<Attempts>();
        services.AddAccess();
        services.AddApi();
        services.AddAntiforgery(options =>
        {
            options.Cookie.Name = "school-form";
            options.Cookie.SameSite = SameSiteMode.Strict;
        });
        services.AddRazorPages().WithRazorPagesRoot("/Modules");
        services.Configure<Microsoft.AspNetCore.Server.Kestrel.Core.KestrelServerOptions>(options =>
        {
            options.AddServerHeader = false;
            options.Limits.MaxRequestBodySize = BodyLimit.Largest;
        });
        services.Configure<ForwardedHeadersOptions>(options => options.ForwardedHeaders = ForwardedHeaders.XForwardedFor | ForwardedHeaders.XForwardedProto);
        services.AddHealthChecks().AddDbContextCheck<SchoolDb>("database", tags: ["ready"]);
        return services;
    }

    public static void UsePlatform(this WebApplication app)
    {
        app.UseForwardedHeaders();
        app.UseSecurityHeaders();
        app.UseBodyLimit();
        app.UseWhen(context => context.IsApi(), api => api.UseExceptionHandler(new ExceptionHandlerOptions { ExceptionHandler = ApiSetup.AnswerExceptionAsync }));
        app.UseStaticFiles();
        app.UseRouting();
        app.UseAuthentication();
        app.UseAuthorization();
        app.UseIdempotency();
    }

    public static void MapPlatform(this WebApplication app)
    {
        app.MapHealthChecks("/health/live", new() { Predicate = _ => false }).AllowAnonymous();
        app.MapHealthChecks("/health/ready").AllowAnonymous();
        app.MapOpenApi("/openapi/{documentName}.json").AllowAnonymous();
        app.MapRazorPages();
    }

#pragma warning disable RS0030 // The one place that names the wall clock.
    private static SystemClock SystemClockOnly() => SystemClock.Instance;
#pragma warning restore RS0030
}
