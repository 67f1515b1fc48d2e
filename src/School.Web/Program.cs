using School.Web.Demo;
using School.Web.Modules;
using School.Web.Modules.People.Operations;
using School.Web.Platform;
using School.Web.Platform.Database;
using School.Web.Platform.LocalPostgres;
using School.Web.Platform.Operations;

try
{
    var builder = WebApplication.CreateBuilder(args);
    builder.UseDemoSettings();
    await using var localDatabase = await builder.UseLocalPostgresAsync(joinRunning: args is ["backup" or "restore" or "migrate" or "add-office", ..]);
    var connectionString = builder.Configuration.GetConnectionString(LocalPostgresSetup.ConnectionName)!;

    if (args is ["backup" or "restore", ..] && !OperatingSystem.IsWindows())
    {
        return await BackupCommand.RunAsync(args, connectionString, Console.Out, Console.Error);
    }

    builder.Services.AddPlatform(builder.Configuration, connectionString);
    builder.Services.AddModules(builder.Configuration);

    await using var app = builder.Build();
    var migrate = args is ["migrate", ..];
    if (migrate || app.Configuration.GetValue("School:MigrateAtStart", localDatabase is not null))
    {
        await app.Services.MigrateAsync(connectionString, CancellationToken.None);
    }

    if (migrate)
    {
        return 0;
    }

    if (args is ["add-office", ..])
    {
        return await AddOfficeCommand.RunAsync(app.Services, args[1..]);
    }

    var saySignIns = await app.FillDemoAsync(connectionString);

    app.UsePlatform();
    app.MapPlatform();
    app.MapModules();
    app.SayWhenReady(saySignIns);
    await app.RunAsync();
    return 0;
}
catch (CannotStartException refused)
{
    await Console.Error.WriteLineAsync(refused.Message);
    return 1;
}
