using System.Security.Cryptography;
using NodaTime;
using School.Web.Demo.Scale;
using School.Web.Modules;
using School.Web.Modules.School.Contracts;
using School.Web.Platform;
using School.Web.Platform.Database;
using School.Web.Platform.LocalPostgres;

namespace School.Web.Demo;

/// <summary>The demo: Larkfield Driving School on this machine's loopback, filled once and signed into with printed accounts.</summary>
internal static class DemoSetup
{
    public static bool IsDemo(this IConfiguration configuration) => configuration["SCHOOL_DEMO"] == "1";

    /// <summary>Set by the program for itself; not a setting.</summary>
    private const string Lessons = "School:DemoLessons";

    /// <summary>Settings that only a demo on the loopback may have. With <c>demo --scale N</c> its data folder is taken for a school of N lessons.</summary>
    /// <exception cref="CannotStartException">The number or the folder will not do.</exception>
    public static void UseDemoSettings(this WebApplicationBuilder builder, string[] args)
    {
        if (args is ["demo", ..])
        {
            builder.Configuration["SCHOOL_DEMO"] = "1";
        }

        if (!builder.Configuration.IsDemo())
        {
            return;
        }

        if (args is ["demo", ..] && Array.Exists(args, arg => arg.Split('=')[0] == "--scale"))
        {
            TakeFolder(builder);
        }

        builder.Configuration.AddInMemoryCollection(new Dictionary<string, string?>
        {
            ["School:PlainHttp"] = "true",
            ["School:PublicUrl"] = builder.Configuration["School:PublicUrl"] ?? (builder.Configuration["urls"] ?? "http://127.0.0.1:5080").Split(';')[0],
            ["School:StaffSecondStep"] = "offered",
            ["School:Name"] = "Larkfield Driving School",
            ["School:Phone"] = "01632 960100",
            ["School:Email"] = "office@larkfield.example",
        });
    }

    private static void TakeFolder(WebApplicationBuilder builder)
    {
        var size = ScaleSize.Read(builder.Configuration["scale"]);
        if (!string.IsNullOrWhiteSpace(builder.Configuration.GetConnectionString(DatabaseConnections.ServiceName)))
        {
            throw new CannotStartException("demo --scale makes a database of its own in its data folder. Leave ConnectionStrings__School out, and name the folder with --data.");
        }

        ScaleFolder.Take(LocalPostgresSetup.DataFolder(builder.Configuration, builder.Environment), size);
        builder.Configuration[Lessons] = builder.Configuration["scale"];
    }

    private static async Task MakeToScaleAsync(WebApplication app, DatabaseConnections connections, Instant now)
    {
        if (app.Configuration[Lessons] is { } lessons)
        {
            await using var scope = app.Services.CreateAsyncScope();
            var school = await scope.ServiceProvider.GetRequiredService<SchoolInfo>().GetAsync(CancellationToken.None);
            await new ScaledSchool(connections.Owner, ScaleSize.Read(lessons), now.InZone(school.Zone).Date, Console.Out).MakeAsync(CancellationToken.None);
            return;
        }

        await using var other = app.Services.CreateAsyncScope();
        if (await ScaledSchool.IsHalfMadeAsync(other.ServiceProvider.GetRequiredService<SchoolDb>(), CancellationToken.None))
        {
            throw new CannotStartException("This data folder holds a school that demo --scale began and did not finish. Run the same command again first; it goes on where it was.");
        }
    }

    /// <summary>Fills an empty database through the verbs of the modules, with a clock of its own; then says who may sign in.</summary>
    public static async Task<Action?> FillDemoAsync(this WebApplication app, DatabaseConnections connections)
    {
        if (!app.Configuration.IsDemo())
        {
            return null;
        }

        var today = app.Services.GetRequiredService<IClock>().GetCurrentInstant();
        await MakeToScaleAsync(app, connections, today);
        var clock = new DemoClock(today);
        await using var provider = Services(app.Configuration, app.Environment, connections.Service, clock).BuildServiceProvider();
        var password = app.Configuration["SCHOOL_DEMO_PASSWORD"] is { Length: > 0 } given ? given : Convert.ToHexStringLower(RandomNumberGenerator.GetBytes(8));
        var accounts = await new DemoSchool(provider, clock, today).FillAsync(password);
        return () =>
        {
            foreach (var account in accounts)
            {
                Console.Out.WriteLine($"sign in as {account,-36} password {password}");
            }
        };
    }

    /// <summary>What makes the invented school: the modules with a clock of their own, before anything is served.</summary>
    internal static IServiceCollection Services(IConfiguration configuration, IWebHostEnvironment environment, string connection, DemoClock clock) => new ServiceCollection()
        .AddLogging(logging => logging.AddConfiguration(configuration.GetSection("Logging")).AddConsole())
        .AddSingleton(configuration)
        .AddSingleton<IHostEnvironment>(environment)
        .AddSingleton(environment)
        .AddPlatform(configuration, connection)
        .AddModules(configuration)
        .AddSingleton<IClock>(clock);
}
