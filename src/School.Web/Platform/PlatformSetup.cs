using System.Security.Cryptography.X509Certificates;
using Microsoft.AspNetCore.DataProtection;
using Microsoft.AspNetCore.HttpOverrides;
using NodaTime;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Jobs;
using School.Web.Platform.Layout;
using School.Web.Platform.Layout.Map;
using School.Web.Platform.Operations;
using School.Web.Platform.Security;

namespace School.Web.Platform;

internal static class PlatformSetup
{
    public static IServiceCollection AddPlatform(this IServiceCollection services, IConfiguration configuration, string connectionString)
    {
        services.AddSingleton<IClock>(WallClock());
        services.AddDatabase(connectionString);
        services.AddJobs(configuration, connectionString);
        services.AddKeys(configuration);
        services.AddScoped<Sealer>();
        services.AddScoped<IInvariant, KeysOpen>();
        services.AddSingleton(GuardsAreOn.Invariant);
        services.AddScoped<Attempts>();
        services.AddAccess();
        services.AddApi();
        services.AddAntiforgery(options =>
        {
            options.Cookie.Name = "school-form";
            options.Cookie.SameSite = SameSiteMode.Strict;
        });
        services.AddPages();
        if (MapTiles.Read(configuration) is { } tiles)
        {
            services.AddSingleton(tiles);
        }

        services.Configure<HostOptions>(options => options.ShutdownTimeout = TimeSpan.FromSeconds(30));
        services.Configure<Microsoft.AspNetCore.Server.Kestrel.Core.KestrelServerOptions>(options =>
        {
            options.AddServerHeader = false;
            options.Limits.MaxRequestBodySize = BodyLimit.Largest;
        });
        services.Configure<ForwardedHeadersOptions>(options =>
        {
            options.ForwardedHeaders = ForwardedHeaders.XForwardedFor | ForwardedHeaders.XForwardedProto | ForwardedHeaders.XForwardedHost;
            foreach (var proxy in (configuration["School:TrustedProxies"] ?? "").Split([',', ' '], StringSplitOptions.RemoveEmptyEntries))
            {
                options.KnownIPNetworks.Add(System.Net.IPNetwork.Parse(proxy.Contains('/', StringComparison.Ordinal) ? proxy : $"{proxy}/{(proxy.Contains(':', StringComparison.Ordinal) ? 128 : 32)}"));
            }
        });
        services.AddHealthChecks().AddDbContextCheck<SchoolDb>("database").AddCheck<NotStopping>("not-stopping");
        return services;
    }

    public static void UsePlatform(this WebApplication app)
    {
        app.UseForwardedHeaders();
        app.UseSecurityHeaders();
        app.UseErrors();
        app.UseBodyLimit();
        app.UseStaticFiles();
        app.UseRouting();
        app.UseAuthentication();
        app.UseAuthorization();
        app.UseIdempotency();
        app.DrainBeforeStopping();
    }

    public static void MapPlatform(this WebApplication app)
    {
        app.MapHealthChecks("/health/live", new() { Predicate = _ => false }).AllowAnonymous();
        app.MapHealthChecks("/health/ready").AllowAnonymous();
        app.MapOpenApi("/openapi/{documentName}.json").AllowAnonymous();
        app.MapJobs();
        app.MapRazorPages();
    }

    private static void AddKeys(this IServiceCollection services, IConfiguration configuration)
    {
        var protection = services.AddDataProtection().SetApplicationName("School").PersistKeysToDbContext<SchoolDb>();
        if (configuration["DataProtection:CertificatePath"] is { Length: > 0 } path)
        {
            protection.ProtectKeysWithCertificate(X509CertificateLoader.LoadPkcs12FromFile(path, configuration["DataProtection:Password"]));
        }
    }

#pragma warning disable RS0030 // The one place that names the wall clock.
    private static SystemClock WallClock() => SystemClock.Instance;
#pragma warning restore RS0030
}
