using School.Web.Modules;
using School.Web.Platform;
using School.Web.Platform.Database;
using School.Web.Platform.LocalPostgres;

var builder = WebApplication.CreateBuilder(args);
await using var localDatabase = await builder.UseLocalPostgresAsync();
var connectionString = builder.Configuration.GetConnectionString(LocalPostgresSetup.ConnectionName)!;

builder.Services.AddPlatform(builder.Configuration, connectionString);
builder.Services.AddModules(builder.Configuration);

await using var app = builder.Build();
if (args is ["migrate", ..] || app.Configuration.GetValue("School:MigrateAtStart", localDatabase is not null))
{
    await app.Services.MigrateAsync(CancellationToken.None);
}

if (args is ["migrate", ..])
{
    return 0;
}

app.UsePlatform();
app.MapPlatform();
app.MapModules();
app.SayWhenReady();
await app.RunAsync();
return 0;
