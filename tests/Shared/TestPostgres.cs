using System.Net.Sockets;
using Npgsql;
using School.Tests;
using School.Web.Platform.LocalPostgres;
using Testcontainers.PostgreSql;
using Xunit;

[assembly: AssemblyFixture(typeof(TestPostgres))]

namespace School.Tests;

/// <summary>
/// One PostgreSQL server for the test run, started at first use: a container where a Docker engine answers, else a local cluster
/// with durability off. Tests take a fresh database each; copying a prepared template takes a fraction of a second.
/// </summary>
public sealed class TestPostgres : IAsyncLifetime
{
    private readonly SemaphoreSlim oneAtATime = new(1);
    private readonly HashSet<string> templates = [];
    private readonly List<Func<ValueTask>> cleanUp = [];
    private volatile string? server;
    private NpgsqlConnectionStringBuilder? service;
    private int created;
    private int copied;

    /// <summary>Databases made so far: those of a name of their own, and those made anew under a name that was used before.</summary>
    public (int Named, int Anew) Databases => (created, copied - created);

    public ValueTask InitializeAsync() => ValueTask.CompletedTask;

    /// <summary>The connection string of a new database: empty, or a copy of a template made by <see cref="PrepareTemplateAsync"/>.</summary>
    public async Task<string> CreateDatabaseAsync(string? template = null)
    {
        var name = $"test_{Interlocked.Increment(ref created)}";
        await StartedAsync();
        await CopyAsync(name, template ?? "template0");
        return ConnectionString(name);
    }

    /// <summary>Throws away what a database holds and copies the template once more; its connection string stays good.</summary>
    public async Task CreateAnewAsync(string connectionString, string template)
    {
        await DropDatabaseAsync(connectionString);
        await CopyAsync(NameIn(connectionString), template);
    }

    /// <summary>Done when the run ends, before the server stops.</summary>
    public void AtEnd(Func<ValueTask> work)
    {
        // Tests that run beside each other ask for it at the same moment.
        lock (cleanUp)
        {
            cleanUp.Insert(0, work);
        }
    }

    private void AfterAll(Func<ValueTask> work)
    {
        lock (cleanUp)
        {
            cleanUp.Add(work);
        }
    }

    /// <summary>The same database as the role that the service works as; the connection strings given out are the owner's.</summary>
    public string AsService(string connectionString) => new NpgsqlConnectionStringBuilder(connectionString)
    {
        Username = service!.Username,
        Password = service.Password,
    }.ConnectionString;

    /// <summary>Makes a template once per run; later calls with the same name return at once.</summary>
    public async Task PrepareTemplateAsync(string name, Func<string, Task> fill)
    {
        await StartedAsync();
        await ExclusivelyAsync(() => templates.Contains(name) ? Task.CompletedTask : MakeTemplateAsync(name, fill));
    }

    private async Task MakeTemplateAsync(string name, Func<string, Task> fill)
    {
        await RunAsync($"CREATE DATABASE {name}");
        await fill(ConnectionString(name));
        // An idle pooled connection would forbid the copy.
        NpgsqlConnection.ClearAllPools();
        await RunAsync($"ALTER DATABASE {name} ALLOW_CONNECTIONS false");
        await RunAsync(
            $"""
             DO $$ BEGIN
               PERFORM pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = '{name}' AND backend_type = 'client backend';
               WHILE EXISTS (SELECT FROM pg_stat_activity WHERE datname = '{name}') LOOP
                 PERFORM pg_sleep(0.02);
                 PERFORM pg_stat_clear_snapshot();
               END LOOP;
             END $$
             """);
        templates.Add(name);
    }

    public async Task DropDatabaseAsync(string connectionString)
    {
        await StartedAsync();
        await LeaveAsync(connectionString);
        await RunAsync($"DROP DATABASE IF EXISTS {NameIn(connectionString)} WITH (FORCE)");
    }

    /// <summary>Closes what is pooled of a database: a connection that ended with it would be given out once more, for one of the same name.</summary>
    private async Task LeaveAsync(string connectionString)
    {
        foreach (var known in (string[])[connectionString, AsService(connectionString)])
        {
            await using var connection = new NpgsqlConnection(known);
            NpgsqlConnection.ClearPool(connection);
        }

        var database = NameIn(connectionString);
        await using var server = new NpgsqlConnection(new NpgsqlConnectionStringBuilder(this.server) { Pooling = false }.ConnectionString);
        await server.OpenAsync();
        await using var count = new NpgsqlCommand("SELECT count(*) FROM pg_stat_activity WHERE datname = $1 AND backend_type = 'client backend'", server);
        count.Parameters.Add(new() { Value = database });
        for (var look = 0; look < 5; look++)
        {
            if (await count.ExecuteScalarAsync() is 0L)
            {
                return;
            }

            await Task.Delay(5);
        }

        // Others may have changed the string for a pool of their own. Emptying all of them costs the tests beside this one their connections.
        NpgsqlConnection.ClearAllPools();
    }

    public async ValueTask DisposeAsync()
    {
        NpgsqlConnection.ClearAllPools();
        foreach (var step in cleanUp)
        {
            await step();
        }

        oneAtATime.Dispose();
    }

    private static string NameIn(string connectionString) => new NpgsqlConnectionStringBuilder(connectionString).Database!;

    private Task CopyAsync(string name, string template)
    {
        Interlocked.Increment(ref copied);
        // Copying the files costs a quarter of writing every block through the log; without durability nothing waits for a disk.
        return RunAsync($"CREATE DATABASE {name} TEMPLATE {template} STRATEGY FILE_COPY");
    }

    private Task StartedAsync() => server is null ? ExclusivelyAsync(async () => server ??= await StartAsync()) : Task.CompletedTask;

    private async Task ExclusivelyAsync(Func<Task> work)
    {
        await oneAtATime.WaitAsync();
        try
        {
            await work();
        }
        finally
        {
            oneAtATime.Release();
        }
    }

    private string ConnectionString(string database) =>
        new NpgsqlConnectionStringBuilder(server)
        {
            Database = database,
            IncludeErrorDetail = true,
            // Hundreds of databases share one server: idle connections go soon.
            MaxPoolSize = 40,
            ConnectionIdleLifetime = 5,
            ConnectionPruningInterval = 1,
        }.ConnectionString;

    private async Task RunAsync(string sql)
    {
        await using var connection = new NpgsqlConnection(new NpgsqlConnectionStringBuilder(server) { Pooling = false }.ConnectionString);
        await connection.OpenAsync();
        await using var command = new NpgsqlCommand(sql, connection);
        await command.ExecuteNonQueryAsync();
    }

    private async Task<string> StartAsync()
    {
        if (await DockerAnswersAsync())
        {
            var container = new PostgreSqlBuilder("postgres:16-alpine")
                .WithCommand("-c", "fsync=off", "-c", "synchronous_commit=off", "-c", "full_page_writes=off", "-c", "max_connections=200", "-c", "jit=off")
                .Build();
            await container.StartAsync();
            AfterAll(container.DisposeAsync);
#pragma warning disable CA1416 // A name, the same on every system.
            const string serviceRole = LocalCluster.ServiceRole;
#pragma warning restore CA1416
            service = new(container.GetConnectionString()) { Username = serviceRole };
            await using var source = NpgsqlDataSource.Create(container.GetConnectionString());
            await using var role = source.CreateCommand($"CREATE ROLE {serviceRole} LOGIN PASSWORD '{service.Password}'");
            await role.ExecuteNonQueryAsync();
            return container.GetConnectionString();
        }
        if (OperatingSystem.IsWindows())
        {
            throw new PlatformNotSupportedException("Tests on Windows need a Docker engine.");
        }

        var folder = Directory.CreateTempSubdirectory("school-tests-");
        var cluster = await LocalCluster.StartAsync(folder.FullName, new() { Durable = false });
        AfterAll(cluster.DisposeAsync);
        AfterAll(() =>
        {
            folder.Delete(recursive: true);
            return ValueTask.CompletedTask;
        });
        service = new(cluster.ConnectionString);
        return cluster.OwnerConnectionString;
    }

    private static async Task<bool> DockerAnswersAsync()
    {
        var host = Environment.GetEnvironmentVariable("DOCKER_HOST") is { Length: > 0 } set ? new Uri(set) : new Uri("unix:///var/run/docker.sock");
        using var limit = new CancellationTokenSource(TimeSpan.FromSeconds(1));
        try
        {
            var unix = host.Scheme == "unix";
            using var socket = unix ? new Socket(AddressFamily.Unix, SocketType.Stream, ProtocolType.Unspecified) : new Socket(SocketType.Stream, ProtocolType.Tcp);
            await (unix ? socket.ConnectAsync(new UnixDomainSocketEndPoint(host.LocalPath), limit.Token) : socket.ConnectAsync(host.Host, host.Port, limit.Token));
            return true;
        }
        catch (Exception failure) when (failure is SocketException or OperationCanceledException)
        {
            return false;
        }
    }
}
