using System.Diagnostics;
using System.Runtime.Versioning;
using Microsoft.Extensions.Logging.Abstractions;
using Npgsql;

namespace School.Web.Platform.LocalPostgres;

internal sealed record LocalClusterOptions
{
    /// <summary>False only for tests: a crash of the machine may then lose or damage the data.</summary>
    public bool Durable { get; init; } = true;
    public string Database { get; init; } = "school";
    public PostgresBinaries? Binaries { get; init; }
    public ILogger Log { get; init; } = NullLogger.Instance;
}

/// <summary>
/// A PostgreSQL server of our own in the data folder: made once, started, watched and restarted when it dies, stopped with us.
/// The connection string stays the same through restarts.
/// </summary>
[UnsupportedOSPlatform("windows")]
internal sealed class LocalCluster : IAsyncDisposable
{
    /// <summary>Owns the database and its schema, and may make others beside it.</summary>
    public const string OwnerRole = "school";

    /// <summary>What the service works as.</summary>
    public const string ServiceRole = "school_service";

    private static readonly TimeSpan ShortestDelay = TimeSpan.FromMilliseconds(100);
    private static readonly TimeSpan LongestDelay = TimeSpan.FromSeconds(10);
    private static readonly TimeSpan StopLimit = TimeSpan.FromSeconds(30);

    private readonly ClusterFolder folder;
    private readonly PostgresBinaries binaries;
    private readonly LocalClusterOptions options;
    private readonly int port;
    private readonly CancellationTokenSource stopping = new();
    private readonly Queue<string> lastLines = new();
    private volatile Process server;
    private Task supervision = Task.CompletedTask;
    private Task logs = Task.CompletedTask;

    private LocalCluster(ClusterFolder folder, PostgresBinaries binaries, LocalClusterOptions options)
    {
        this.folder = folder;
        this.binaries = binaries;
        this.options = options;
        port = folder.Port();
        ConnectionString = folder.ConnectionString(ServiceRole, port, options.Database);
        OwnerConnectionString = folder.ConnectionString(OwnerRole, port, options.Database);
        server = Launch();
    }

    /// <summary>As the role that the service works as.</summary>
    public string ConnectionString { get; }

    /// <summary>As the role that owns the schema.</summary>
    public string OwnerConnectionString { get; }

    /// <summary>The server's main process; another one after each restart.</summary>
    public int ClusterProcessId => server.Id;

    /// <summary>Starts the cluster of a data folder, making both if need be, and returns when it answers.</summary>
    /// <exception cref="LocalPostgresException">It cannot; the message says why and what to do.</exception>
    public static async Task<LocalCluster> StartAsync(string dataFolder, LocalClusterOptions? options = null, CancellationToken cancel = default)
    {
        options ??= new();
        var folder = ClusterFolder.Open(dataFolder);
        LocalCluster? cluster = null;
        try
        {
            var existing = folder.ExistingMajor();
            var binaries = options.Binaries ?? PostgresBinaries.Find(existing);
            folder.PrepareSocketFolder();
            if (existing is null)
            {
                ClusterLog.Making(options.Log, folder.DataFolder);
                await folder.InitialiseAsync(binaries, options.Durable, cancel);
            }
            else
            {
                await folder.TakeOverAsync(cancel);
            }
            await folder.ClearLeftoversAsync(options.Log, cancel);
            cluster = new(folder, binaries, options);
            await cluster.UntilReadyAsync(cancel);
            await cluster.EnsureDatabaseAsync(cancel);
            cluster.supervision = cluster.SuperviseAsync();
            return cluster;
        }
        catch
        {
            if (cluster is not null)
            {
                await cluster.DisposeAsync();
            }
            else
            {
                folder.Dispose();
            }

            throw;
        }
    }

    /// <summary>Ends open sessions, writes everything down and stops. Idempotent.</summary>
    public async Task StopAsync()
    {
        if (stopping.IsCancellationRequested)
        {
            return;
        }

        await stopping.CancelAsync();
        await supervision;
        if (!server.HasExited)
        {
            Posix.Signal(server.Id, Posix.Interrupt);
            using var limit = new CancellationTokenSource(StopLimit);
            try
            {
                await server.WaitForExitAsync(limit.Token);
            }
            catch (OperationCanceledException)
            {
                ClusterLog.CutOff(options.Log);
                Posix.Signal(server.Id, Posix.Quit);
                await server.WaitForExitAsync(CancellationToken.None);
            }
        }
        ClusterLog.Stopped(options.Log);
    }

    public async ValueTask DisposeAsync()
    {
        await StopAsync();
        server.Dispose();
        stopping.Dispose();
        folder.Dispose();
    }

    private Process Launch()
    {
        var free = ClusterFolder.PortIsFree(port);
        if (!free)
        {
            ClusterLog.PortTaken(options.Log, port);
        }

        Dictionary<string, string> settings = new()
        {
            ["cluster_name"] = folder.Name,
            ["port"] = $"{port}",
            ["listen_addresses"] = free ? "127.0.0.1" : "",
            ["unix_socket_directories"] = folder.SocketFolder,
            ["unix_socket_permissions"] = "0700",
            ["shared_buffers"] = "128MB",
            ["max_connections"] = "200",
            // Hardly a statement here runs for as long as it takes to compile one.
            ["jit"] = "off",
            ["logging_collector"] = "off",
            ["log_destination"] = "stderr",
            ["log_line_prefix"] = "",
            // Statements and details may carry personal data.
            ["log_min_error_statement"] = "panic",
            ["log_error_verbosity"] = "terse",
        };
        if (!options.Durable)
        {
            foreach (var setting in (string[])["fsync", "synchronous_commit", "full_page_writes", "autovacuum"])
            {
                settings[setting] = "off";
            }
            // Nothing is ever rebuilt from the log.
            settings["wal_level"] = "minimal";
            settings["max_wal_senders"] = "0";
            settings["max_wal_size"] = "4GB";
        }
        string[] line = [binaries.Program("postgres"), "-D", folder.Cluster, .. settings.SelectMany(setting => (string[])["-c", $"{setting.Key}={setting.Value}"])];
        // Ctrl-C at the terminal is for us alone: the database has to outlive the requests in hand.
        if (OperatingSystem.IsLinux())
        {
            line = ["setsid", .. line];
        }

        line = [.. Posix.InterruptedWhenInputEnds, .. line];
        var process = Process.Start(Posix.Command(folder.User, line[0], line[1..]))!;
        logs = Task.WhenAll(ReadLogAsync(process.StandardOutput), ReadLogAsync(process.StandardError));
        return process;
    }

    private async Task ReadLogAsync(StreamReader output)
    {
        while (await output.ReadLineAsync(CancellationToken.None) is { } line)
        {
            lock (lastLines)
            {
                lastLines.Enqueue(line);
                if (lastLines.Count > 10)
                {
                    lastLines.Dequeue();
                }
            }
            if (line.StartsWith("FATAL", StringComparison.Ordinal) || line.StartsWith("PANIC", StringComparison.Ordinal)
                || line.StartsWith("WARNING", StringComparison.Ordinal))
            {
                ClusterLog.ServerTrouble(options.Log, line);
            }
            else
            {
                ClusterLog.Server(options.Log, line);
            }
        }
    }

    private async Task UntilReadyAsync(CancellationToken cancel)
    {
        while (folder.ServerState() is not { State: "ready" } state || state.ProcessId != server.Id)
        {
            if (server.HasExited)
            {
                await Task.WhenAny(logs, Task.Delay(TimeSpan.FromSeconds(1), cancel));
                string said;
                lock (lastLines)
                {
                    said = string.Join(' ', lastLines);
                }

                throw new LocalPostgresException($"The private database in {folder.DataFolder} does not start: {said}");
            }
            await Task.Delay(20, cancel);
        }
        ClusterLog.Ready(options.Log, binaries.Major, server.Id, folder.SocketFolder, port);
    }

    // Neither role is a superuser; that one is only for this. The owner may end the service's sessions and become it, not the other way round.
    private async Task EnsureDatabaseAsync(CancellationToken cancel)
    {
        await using var source = NpgsqlDataSource.Create(folder.ConnectionString(ClusterFolder.Superuser, port, "postgres") + ";Pooling=false");
        if (!await ExistsAsync("SELECT FROM pg_roles WHERE rolname = $1", OwnerRole))
        {
            await RunAsync($"CREATE ROLE {OwnerRole} LOGIN CREATEDB PASSWORD '{folder.Password}'");
        }
        if (!await ExistsAsync("SELECT FROM pg_roles WHERE rolname = $1", ServiceRole))
        {
            await RunAsync($"CREATE ROLE {ServiceRole} LOGIN PASSWORD '{folder.ServicePassword}'");
            await RunAsync($"GRANT {ServiceRole} TO {OwnerRole}");
        }
        if (!await ExistsAsync("SELECT FROM pg_database WHERE datname = $1", options.Database))
        {
            await RunAsync($"CREATE DATABASE \"{options.Database}\" OWNER {OwnerRole}");
        }

        async Task<bool> ExistsAsync(string sql, string name)
        {
            await using var command = source.CreateCommand(sql);
            command.Parameters.Add(new() { Value = name });
            await using var reader = await command.ExecuteReaderAsync(cancel);
            return await reader.ReadAsync(cancel);
        }

        async Task RunAsync(string sql)
        {
            await using var command = source.CreateCommand(sql);
            await command.ExecuteNonQueryAsync(cancel);
        }
    }

    private async Task SuperviseAsync()
    {
        var delay = ShortestDelay;
        try
        {
            while (true)
            {
                var alive = Stopwatch.StartNew();
                await server.WaitForExitAsync(stopping.Token);
                server.StandardInput.Close();
                delay = alive.Elapsed > LongestDelay ? ShortestDelay : delay * 2 > LongestDelay ? LongestDelay : delay * 2;
                ClusterLog.Died(options.Log, server.ExitCode, delay);
                await Task.Delay(delay, stopping.Token);
                await RestartAsync();
            }
        }
        catch (OperationCanceledException)
        {
            // Stopping.
        }
    }

    private async Task RestartAsync()
    {
        try
        {
            await folder.ClearLeftoversAsync(options.Log, stopping.Token);
            var dead = server;
            server = Launch();
            dead.Dispose();
            await UntilReadyAsync(stopping.Token);
        }
        catch (Exception failure) when (failure is not OperationCanceledException)
        {
            // Whatever it was, without a database there is nothing better to do than to try again.
            ClusterLog.RestartFailed(options.Log, failure);
        }
    }
}
