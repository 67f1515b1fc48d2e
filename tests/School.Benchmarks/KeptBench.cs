using System.Diagnostics;
using System.Globalization;
using System.Runtime.Versioning;
using Microsoft.AspNetCore.Builder;
using Microsoft.Extensions.Configuration;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;
using Npgsql;
using School.Web.Modules;
using School.Web.Modules.Records.Retention;
using School.Web.Platform;
using School.Web.Platform.LocalPostgres;

namespace School.Benchmarks;

/// <summary>How large the database of a school of ten years is once the nightly job has cleared what was kept long enough.</summary>
[UnsupportedOSPlatform("windows")]
internal static class KeptBench
{
    private const double MostGigabytes = 3;

    public static async Task<string> MeasureAsync(int lessons, string? keptIn)
    {
        await using var school = await DemoService.StartAsync(lessons, keptIn);
        await using var owner = NpgsqlDataSource.Create(ClusterFolder.RunningElsewhere(school.Folder, LocalCluster.OwnerRole, "school")!);
        var before = await GigabytesAsync(owner);
        var started = Stopwatch.GetTimestamp();
        await ClearAsync(school.Folder);
        var took = Stopwatch.GetElapsedTime(started);
        // A school that cleared every night never grew: what was freed at once here is given back, as it would not have been taken.
        await using (var give = owner.CreateCommand("VACUUM FULL ANALYZE"))
        {
            give.CommandTimeout = 0;
            await give.ExecuteNonQueryAsync();
        }

        var after = await GigabytesAsync(owner);
        return string.Create(
            CultureInfo.InvariantCulture,
            $"database-after-retention {after:0.00} GB (before {before:0.00}; cleared in {took.TotalSeconds:0} s; {lessons} lessons; goal at most {MostGigabytes}) {Load.Met(after <= MostGigabytes)}");
    }

    private static async Task ClearAsync(string folder)
    {
        var builder = WebApplication.CreateBuilder();
        var connection = ClusterFolder.RunningElsewhere(folder, LocalCluster.ServiceRole, "school")!;
        builder.Configuration.AddInMemoryCollection(new Dictionary<string, string?>
        {
            ["ConnectionStrings:School"] = connection,
            ["School:KeyFile"] = Path.Combine(folder, "school.key"),
            ["School:RunJobs"] = "false",
        });
        builder.Logging.ClearProviders();
        builder.Services.AddPlatform(builder.Configuration, connection);
        builder.Services.AddModules(builder.Configuration);
        await using var app = builder.Build();
        await using var scope = app.Services.CreateAsyncScope();
        await scope.ServiceProvider.GetRequiredService<ClearKept>().RunAsync(CancellationToken.None);
    }

    private static async Task<double> GigabytesAsync(NpgsqlDataSource owner)
    {
        await using var command = owner.CreateCommand("SELECT pg_database_size('school')");
        return (long)(await command.ExecuteScalarAsync())! / 1e9;
    }
}
