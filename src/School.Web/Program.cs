using School.Web.Demo;
using School.Web.Modules;
using School.Web.Modules.People.Operations;
using School.Web.Modules.Places.Postcodes;
using School.Web.Platform;
using School.Web.Platform.Database;
using School.Web.Platform.Keys;
using School.Web.Platform.LocalPostgres;
using School.Web.Platform.Operations;

try
{
    var builder = WebApplication.CreateBuilder(args);
    builder.UseDemoSettings(args);
    await using var localDatabase = await builder.UseLocalPostgresAsync(joinRunning: args is ["backup" or "restore" or "renew" or "migrate" or "add-office" or "postcodes" or "check", ..]);
    var connections = DatabaseConnections.Of(builder.Configuration);
    var connectionString = connections.Service;

    var check = args is ["check", ..];
    if (check)
    {
        connectionString = CheckCommand.ReadOnly(connectionString);
        CheckCommand.Quieten(builder);
    }

    builder.Services.AddPlatform(builder.Configuration, connectionString);
    builder.Services.AddModules(builder.Configuration);

    await using var app = builder.Build();
    if (args is ["backup" or "restore" or "renew", ..] && !OperatingSystem.IsWindows())
    {
        var done = await BackupCommand.RunAsync(args, connections.Owner, Console.Out, Console.Error, app.Services, Console.IsInputRedirected ? null : Console.In);
        if (done == 0 && args is ["restore", ..])
        {
            await ServiceRights.GrantAsync(connections, CancellationToken.None);
        }

        return done;
    }

    if (check)
    {
        return await CheckCommand.RunAsync(app.Services, connectionString, Console.Out, CancellationToken.None);
    }

    var migrate = args is ["migrate", ..];
    if (migrate || app.Configuration.GetValue("School:MigrateAtStart", localDatabase is not null))
    {
        var keys = await app.Services.MigrateAsync(connections, CancellationToken.None);
        if (migrate)
        {
            if (!connections.Parted)
            {
                Console.WriteLine("One database role owns the schema and runs the service. docs/operations.md, “Two database roles”, tells how to part them.");
            }

            return keys.Are == KeysAre.Locked ? 1 : 0;
        }
    }

    if (args is ["add-office", ..])
    {
        return await AddOfficeCommand.RunAsync(app.Services, args[1..]);
    }

    if (args is ["postcodes", ..])
    {
        return await PostcodesCommand.RunAsync(app.Services, args[1..]);
    }

    var saySignIns = await app.FillDemoAsync(connections);

    app.UsePlatform();
    app.MapPlatform();
    app.MapModules();
    app.SayWhenReady(saySignIns + await app.FirstCodeAsync());
    await app.RunAsync();
    return 0;
}
catch (CannotStartException refused)
{
    await Console.Error.WriteLineAsync(refused.Message);
    return 1;
}
