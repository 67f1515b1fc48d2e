using School.Web.Platform.Database;

namespace School.Web.Platform.LocalPostgres;

internal static class LocalPostgresSetup
{
    private const string Database = "school";

    /// <summary>Set by the program for itself; not a setting.</summary>
    private const string Private = "School:PrivateDatabase";

    /// <summary>
    /// Where no connection string is configured, starts the private cluster of the data folder (setting Data or SCHOOL_DATA,
    /// else .data beside the program's content) and configures its connection string. Null where one is configured.
    /// Dispose of it last, after the host: also when the start of the host fails. With <paramref name="joinRunning"/> (commands such
    /// as a backup) a cluster that the service already runs is used instead of refused.
    /// </summary>
    public static async Task<IAsyncDisposable?> UseLocalPostgresAsync(
        this IHostApplicationBuilder builder, bool joinRunning = false, CancellationToken cancel = default)
    {
        if (!string.IsNullOrWhiteSpace(builder.Configuration.GetConnectionString(DatabaseConnections.ServiceName)))
        {
            return null;
        }

        if (OperatingSystem.IsWindows())
        {
            throw new LocalPostgresException("The private database runs on Linux and macOS. Here, set ConnectionStrings__School to a PostgreSQL server.");
        }
        var dataFolder = DataFolder(builder.Configuration, builder.Environment);
        builder.Configuration[Private] = "true";
        if (joinRunning && ClusterFolder.RunningElsewhere(dataFolder, LocalCluster.ServiceRole, Database) is { } service
            && ClusterFolder.RunningElsewhere(dataFolder, LocalCluster.OwnerRole, Database) is { } owner)
        {
            Use(builder, new(service, owner));
            return null;
        }
        // Lives as long as the process: the cluster outlasts the host and its loggers.
        var logging = LoggerFactory.Create(log => log.AddConfiguration(builder.Configuration.GetSection("Logging")).AddConsole());
        var cluster = await LocalCluster.StartAsync(dataFolder, new() { Database = Database, Log = logging.CreateLogger<LocalCluster>() }, cancel);
        Use(builder, new(cluster.ConnectionString, cluster.OwnerConnectionString));
        return cluster;
    }

    /// <summary>Whether the database is our own, in the data folder.</summary>
    public static bool IsPrivate(IConfiguration configuration) => configuration.GetValue(Private, false);

    public static string DataFolder(IConfiguration configuration, IHostEnvironment host) =>
        Path.Combine(host.ContentRootPath, configuration["Data"] ?? configuration["SCHOOL_DATA"] ?? ".data");

    private static void Use(IHostApplicationBuilder builder, DatabaseConnections connections)
    {
        builder.Configuration[$"ConnectionStrings:{DatabaseConnections.ServiceName}"] = connections.Service;
        builder.Configuration[$"ConnectionStrings:{DatabaseConnections.OwnerName}"] = connections.Owner;
    }
}
