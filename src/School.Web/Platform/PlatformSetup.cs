using Microsoft.AspNetCore.HttpOverrides;
using NodaTime;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Find;
using School.Web.Platform.Health;
using School.Web.Platform.Jobs;
using School.Web.Platform.Keys;
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
        connectionString = ConnectionLimits.Of(connectionString);
        services.AddDatabase(connectionString);
        services.AddJobs(configuration, connectionString);
        services.AddKeys(configuration, connectionString);
        services.AddSingleton(Renewal.CookieKeys);
        services.AddSingleton(Renewal.KeptAnswers);
        services.AddScoped<IInvariant, KeysOpen>();
        services.AddScoped<IInvariant, SealingKeysOpen>();
        services.AddSingleton(GuardsAreOn.Invariant);
        services.AddScoped<Attempts>();
        services.AddAccess();
        services.AddApi();
        services.AddPersonLimit();
        CookieRules.Read(configuration).AddTo(services);
        services.AddPages();
        services.AddScoped<Finder>();
        services.AddScoped<IFind, PagesFound>();
        if (MapTiles.Read(configuration) is { } tiles)
        {
            services.AddSingleton(tiles);
        }

        services.Configure<HostOptions>(options => options.ShutdownTimeout = TimeSpan.FromSeconds(30));
        services.Configure<Microsoft.AspNetCore.Server.Kestrel.Core.KestrelServerOptions>(options =>
        {
            options.AddServerHeader = false;
            AddressLimit.Configure(options.Limits);
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
        services.AddSingleton<FullDisk>();
        services.AddSingleton<Readiness>();
        services.AddLogging(CalmConsole.Use);
        services.AddHealthChecks().AddDbContextCheck<SchoolDb>("database").AddCheck<RoomToWrite>("room").AddCheck<NotStopping>("not-stopping");
        return services;
    }

    public static void UsePlatform(this WebApplication app)
    {
        app.UseForwardedHeaders();
        app.UseSecurityHeaders();
        app.UseChallenge();
        app.UseKnownHosts();
        CookieRules.Read(app.Configuration).Use(app);
        app.UseErrors();
        app.UseAddressLimit();
        app.UseBodyLimit();
        app.UseConditionalReads();
        app.UseAssets();
        app.UseRouting();
        app.UseAuthentication();
        app.UseRateLimiter();
        app.UseAuthorization();
        app.UseIdempotency();
        app.UseWhatWasRead();
        app.DrainBeforeStopping();
    }

    public static void MapPlatform(this WebApplication app)
    {
        app.MapHealthChecks("/health/live", new() { Predicate = _ => false }).AllowAnonymous();
        app.Map("/health/ready", Readiness.AnswerAsync).AllowAnonymous();
        app.MapOpenApi("/openapi/{documentName}.json").AllowAnonymous();
        // Programs ask for these before anybody has signed in; a page to sign in on would be taken for an answer.
        app.MapMethods("/robots.txt", [HttpMethods.Get, HttpMethods.Head], () => Results.Text("User-agent: *\nDisallow: /\n")).AllowAnonymous();
        app.Map("/.well-known/{**rest}", () => Results.Text("There is nothing at this address.", statusCode: StatusCodes.Status404NotFound)).AllowAnonymous();
        app.MapJobs();
        app.MapRazorPages();
    }

#pragma warning disable RS0030 // The one place that names the wall clock.
    private static SystemClock WallClock() => SystemClock.Instance;
#pragma warning restore RS0030
}
