using School.Web.Modules;
using School.Web.Platform;
using School.Web.Platform.Database;

var builder = WebApplication.CreateBuilder(args);
var connectionString = await builder.ConnectAsync();

builder.Services.AddPlatform(builder.Configuration, connectionString);
builder.Services.AddModules(builder.Configuration);

var app = builder.Build();

if (args is ["migrate", ..])
{
    await app.Services.MigrateAsync(CancellationToken.None);
    return 0;
}

if (app.Configuration.GetValue("School:MigrateAtStart", defaultValue: true))
{
    await app.Services.MigrateAsync(CancellationToken.None);
}

app.UsePlatform();
app.MapPlatform();
app.MapModules();
await app.RunAsync();
return 0;

/// <summary>Named so that the tests can start the service in their own process.</summary>
internal sealed partial class Program;
