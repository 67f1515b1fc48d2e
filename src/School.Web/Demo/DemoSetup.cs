using System.Security.Cryptography;
using NodaTime;
using School.Web.Modules;
using School.Web.Modules.School.Contracts;
using School.Web.Platform;

namespace School.Web.Demo;

/// <summary>The demo: Larkfield Driving School on this machine's loopback, filled once and signed into with printed accounts.</summary>
internal static class DemoSetup
{
    public static bool IsDemo(this IConfiguration configuration) => configuration["SCHOOL_DEMO"] == "1";

    /// <summary>Settings that only a demo on the loopback may have.</summary>
    public static void UseDemoSettings(this WebApplicationBuilder builder)
    {
        if (!builder.Configuration.IsDemo())
        {
            return;
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

    /// <summary>Fills an empty database through the verbs of the modules, with a clock of its own; then says who may sign in.</summary>
    public static async Task<Action?> FillDemoAsync(this WebApplication app, string connectionString)
    {
        if (!app.Configuration.IsDemo())
        {
            return null;
        }

        var today = app.Services.GetRequiredService<IClock>().GetCurrentInstant();
        var clock = new DemoClock(today);
        var services = new ServiceCollection()
            .AddLogging(logging => logging.AddConfiguration(app.Configuration.GetSection("Logging")).AddConsole())
            .AddSingleton(app.Configuration)
            .AddSingleton<IConfiguration>(app.Configuration)
            .AddSingleton<IHostEnvironment>(app.Environment)
            .AddSingleton<IWebHostEnvironment>(app.Environment)
            .AddPlatform(app.Configuration, connectionString)
            .AddModules(app.Configuration)
            .AddSingleton<IClock>(clock);
        await using var provider = services.BuildServiceProvider();
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
}
