using System.Diagnostics;
using System.Globalization;
using System.Net;
using System.Net.Sockets;
using System.Runtime.Versioning;
using Npgsql;
using School.Web.Platform.LocalPostgres;
using Xunit;

namespace School.Web.Tests.Platform;

[UnsupportedOSPlatform("windows")]
public sealed class LocalPostgresTests : IDisposable
{
    private readonly string folder = Directory.CreateTempSubdirectory("school-cluster-").FullName;

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    public void Dispose() => Directory.Delete(folder, recursive: true);

    [Fact]
    public async Task A_new_data_folder_gets_a_database_that_answers()
    {
        await using var cluster = await StartAsync(durable: true);
        Assert.Equal("UTF8", await ScalarAsync(cluster, "SHOW server_encoding"));
        Assert.Equal("on", await ScalarAsync(cluster, "SHOW fsync"));
        Assert.Equal("off", await ScalarAsync(cluster, "SELECT current_setting('is_superuser')"));
        Assert.Equal("scram-sha-256", await ScalarAsync(cluster, "SHOW password_encryption"));
    }

    [Fact]
    public async Task The_owner_of_the_schema_may_install_the_extension_that_the_diary_needs()
    {
        await using var cluster = await StartAsync();
        await RunAsync(cluster, "CREATE EXTENSION btree_gist");
        Assert.Equal(1L, await ScalarAsync(cluster, "SELECT count(*) FROM pg_extension WHERE extname = 'btree_gist'"));
    }

    [Fact]
    public async Task The_server_listens_on_loopback_and_never_without_the_password()
    {
        await using var cluster = await StartAsync();
        Assert.Equal("127.0.0.1", await ScalarAsync(cluster, "SHOW listen_addresses"));
        var overTcp = new NpgsqlConnectionStringBuilder(cluster.ConnectionString) { Host = "127.0.0.1", Pooling = false };
        await using (var connection = new NpgsqlConnection(overTcp.ConnectionString))
        {
            await connection.OpenAsync(Cancel);
        }

        foreach (var host in (string[])["127.0.0.1", new NpgsqlConnectionStringBuilder(cluster.ConnectionString).Host!])
        {
            overTcp.Host = host;
            overTcp.Password = "wrong";
            await using var stranger = new NpgsqlConnection(overTcp.ConnectionString);
            var refusal = await Assert.ThrowsAsync<PostgresException>(() => stranger.OpenAsync(Cancel));
            Assert.Equal(PostgresErrorCodes.InvalidPassword, refusal.SqlState);
        }
    }

    [Fact]
    public async Task Only_the_owner_can_read_the_password_file_and_enter_the_socket_folder()
    {
        await using var cluster = await StartAsync();
        var ownerOnly = UnixFileMode.UserRead | UnixFileMode.UserWrite;
        Assert.Equal(ownerOnly, File.GetUnixFileMode(Path.Combine(folder, "postgres.password")));
        var socket = new NpgsqlConnectionStringBuilder(cluster.ConnectionString).Host!;
        Assert.Equal(ownerOnly | UnixFileMode.UserExecute, File.GetUnixFileMode(socket));
        Assert.False(socket.StartsWith(folder, StringComparison.Ordinal));
    }

    [Fact]
    public async Task A_second_service_on_the_same_folder_is_refused()
    {
        await using var cluster = await StartAsync();
        var refusal = await Assert.ThrowsAsync<LocalPostgresException>(() => StartAsync());
        Assert.Contains("Another School process already uses the data folder", refusal.Message, StringComparison.Ordinal);
        Assert.Equal(1, await ScalarAsync(cluster, "SELECT 1"));
    }

    [Fact]
    public async Task A_lock_held_by_another_process_is_respected()
    {
        Assert.SkipUnless(File.Exists("/usr/bin/flock"), "needs the flock program");
        var file = Path.Combine(folder, "postgres.lock");
        using var holder = Process.Start("flock", ["--close", file, "sh", "-c", $"touch {file}.held; exec sleep 60"]);
        while (!File.Exists(file + ".held"))
        {
            await Task.Delay(10, Cancel);
        }

        await Assert.ThrowsAsync<LocalPostgresException>(() => StartAsync());
        holder.Kill(entireProcessTree: true);
        await holder.WaitForExitAsync(Cancel);
        await using var cluster = await StartAsync();
        Assert.Equal(1, await ScalarAsync(cluster, "SELECT 1"));
    }

    [Fact]
    public async Task A_command_can_join_the_cluster_that_the_service_runs()
    {
        Assert.Null(ClusterFolder.RunningElsewhere(folder, LocalCluster.OwnerRole, "school"));
        await using (var cluster = await StartAsync())
        {
            await RunAsync(cluster, "CREATE TABLE kept (id int); INSERT INTO kept VALUES (7)");
            await using var joined = NpgsqlDataSource.Create(ClusterFolder.RunningElsewhere(folder, LocalCluster.OwnerRole, "school")!);
            await using var command = joined.CreateCommand("SELECT id FROM kept");
            Assert.Equal(7, await command.ExecuteScalarAsync(Cancel));
        }
        Assert.Null(ClusterFolder.RunningElsewhere(folder, LocalCluster.OwnerRole, "school"));
    }

    [Fact]
    public async Task Rows_are_kept_over_a_restart_with_the_same_address()
    {
        string first;
        await using (var cluster = await StartAsync())
        {
            first = cluster.ConnectionString;
            await RunAsync(cluster, "CREATE TABLE kept (id int); INSERT INTO kept VALUES (7)");
        }
        await using var again = await StartAsync();
        Assert.Equal(7, await ScalarAsync(again, "SELECT id FROM kept"));
        Assert.Equal(first, again.ConnectionString);
    }

    [Fact]
    public async Task A_killed_server_comes_back_with_every_committed_row()
    {
        await using var cluster = await StartAsync(durable: true);
        await RunAsync(cluster, "CREATE TABLE kept (id int)");
        for (var round = 1; round <= 3; round++)
        {
            await RunAsync(cluster, $"INSERT INTO kept VALUES ({round})");
            var killed = cluster.ClusterProcessId;
            Posix.Signal(killed, Posix.Kill);
            await UntilReplacedAsync(cluster, killed);
            Assert.Equal((long)round, await ScalarAsync(cluster, "SELECT count(*) FROM kept"));
        }
    }

    [Fact]
    public async Task A_server_left_by_a_killed_service_is_ended_and_its_rows_are_kept()
    {
        Assert.SkipUnless(OperatingSystem.IsLinux(), "needs /proc");
        var (commandLine, socketFolder) = await LeaveDatabaseAsync();
        var user = UnprivilegedUser.IfRoot();
        Directory.CreateDirectory(socketFolder);
        Posix.GiveTo(user, socketFolder);
        using var orphan = Process.Start(Posix.Command(user, commandLine[0], commandLine[1..]))!;
        while (Directory.GetFiles(socketFolder).Length == 0)
        {
            await Task.Delay(10, Cancel);
        }

        await using var cluster = await StartAsync();
        Assert.True(orphan.HasExited);
        Assert.NotEqual(orphan.Id, cluster.ClusterProcessId);
        Assert.Equal(1L, await ScalarAsync(cluster, "SELECT count(*) FROM kept"));
    }

    [Fact]
    public async Task The_server_is_asked_to_stop_when_the_service_that_holds_its_input_is_gone()
    {
        string[] line = [.. Posix.InterruptedWhenInputEnds, "sleep", "60"];
        using var program = Process.Start(Posix.Command(null, line[0], line[1..]))!;
        await Task.Delay(200, Cancel);
        Assert.False(program.HasExited);
        program.StandardInput.Close();
        await program.WaitForExitAsync(Cancel).WaitAsync(TimeSpan.FromSeconds(10), Cancel);
        Assert.Equal(128 + Posix.Interrupt, program.ExitCode);
    }

    [Fact]
    public async Task A_stale_lock_file_whose_process_id_now_belongs_to_another_program_is_cleared()
    {
        Assert.SkipUnless(OperatingSystem.IsLinux(), "needs /proc");
        await LeaveDatabaseAsync();
        using var stranger = Process.Start(Posix.Command(UnprivilegedUser.IfRoot(), "sleep", "60"))!;
        await File.WriteAllTextAsync(Path.Combine(folder, "postgres", "postmaster.pid"),
            $"{stranger.Id}\n{folder}/postgres\n1700000000\n5432\n/tmp\n127.0.0.1\n 1 1\nready   \n", Cancel);

        await using var cluster = await StartAsync();
        Assert.Equal(1L, await ScalarAsync(cluster, "SELECT count(*) FROM kept"));
        Assert.False(stranger.HasExited);
        stranger.Kill();
    }

    [Fact]
    public async Task A_port_that_another_program_took_is_replaced()
    {
        int port;
        await using (var cluster = await StartAsync())
        {
            port = new NpgsqlConnectionStringBuilder(cluster.ConnectionString).Port;
        }

        using var taken = new TcpListener(IPAddress.Loopback, port);
        taken.Start();
        await using var again = await StartAsync();
        Assert.NotEqual(port, new NpgsqlConnectionStringBuilder(again.ConnectionString).Port);
        Assert.Equal(1, await ScalarAsync(again, "SELECT 1"));
    }

    [Fact]
    public async Task An_interrupted_first_start_is_begun_afresh()
    {
        Directory.CreateDirectory(Path.Combine(folder, "postgres.new", "base"));
        await using var cluster = await StartAsync();
        Assert.Equal(1, await ScalarAsync(cluster, "SELECT 1"));
    }

    [Fact]
    public async Task A_server_that_cannot_start_is_reported_in_its_own_words_and_the_folder_is_released()
    {
        await LeaveDatabaseAsync();
        var settings = Path.Combine(folder, "postgres", "postgresql.conf");
        await File.AppendAllTextAsync(settings, "\nno_such_setting = 1\n", Cancel);
        var refusal = await Assert.ThrowsAsync<LocalPostgresException>(() => StartAsync());
        Assert.Contains("no_such_setting", refusal.Message, StringComparison.Ordinal);
        await File.WriteAllTextAsync(settings, "", Cancel);
        await using var cluster = await StartAsync();
        Assert.Equal(1L, await ScalarAsync(cluster, "SELECT count(*) FROM kept"));
    }

    [Fact]
    public void A_version_that_is_too_old_is_refused_with_what_to_install()
    {
        var refusal = Assert.Throws<LocalPostgresException>(() => PostgresBinaries.Find(folders: [FakeBinaries("13.9")]));
        Assert.Contains("PostgreSQL 13", refusal.Message, StringComparison.Ordinal);
        Assert.Contains("Debian package postgresql-15", refusal.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void The_version_that_made_the_cluster_is_preferred_to_a_newer_one()
    {
        string[] folders = [FakeBinaries("17.2"), FakeBinaries("15.9"), FakeBinaries("16.1")];
        Assert.Equal(folders[1], PostgresBinaries.Find(15, folders).Folder);
        Assert.Equal(folders[0], PostgresBinaries.Find(null, folders).Folder);
        var refusal = Assert.Throws<LocalPostgresException>(() => PostgresBinaries.Find(18, folders));
        Assert.Contains("postgresql-18", refusal.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Without_PostgreSQL_the_package_to_install_is_named()
    {
        var refusal = Assert.Throws<LocalPostgresException>(() => PostgresBinaries.Find(folders: [folder]));
        Assert.Contains("Install the Debian package postgresql", refusal.Message, StringComparison.Ordinal);
    }

    // Only what is about durability waits for the disk.
    private Task<LocalCluster> StartAsync() => StartAsync(durable: false);

    private Task<LocalCluster> StartAsync(bool durable) => LocalCluster.StartAsync(folder, new() { Durable = durable }, Cancel);

    private async Task<(string[] CommandLine, string SocketFolder)> LeaveDatabaseAsync()
    {
        await using var cluster = await StartAsync();
        await RunAsync(cluster, "CREATE TABLE kept (id int); INSERT INTO kept VALUES (7)");
        var line = await File.ReadAllTextAsync($"/proc/{cluster.ClusterProcessId}/cmdline", Cancel);
        return (line.Split('\0')[..^1], new NpgsqlConnectionStringBuilder(cluster.ConnectionString).Host!);
    }

    private string FakeBinaries(string version)
    {
        var bin = Directory.CreateDirectory(Path.Combine(folder, string.Create(CultureInfo.InvariantCulture, $"fake-{version}"))).FullName;
        foreach (var program in (string[])["postgres", "initdb"])
        {
            var path = Path.Combine(bin, program);
            File.WriteAllText(path, $"#!/bin/sh\necho '{program} (PostgreSQL) {version}'\n");
            File.SetUnixFileMode(path, UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute);
        }
        return bin;
    }

    private static async Task<object?> ScalarAsync(LocalCluster cluster, string sql, bool asService = false)
    {
        await using var source = NpgsqlDataSource.Create(asService ? cluster.ConnectionString : cluster.OwnerConnectionString);
        await using var command = source.CreateCommand(sql);
        return await command.ExecuteScalarAsync(Cancel);
    }

    private static Task<object?> RunAsync(LocalCluster cluster, string sql) => ScalarAsync(cluster, sql);

    private static async Task UntilReplacedAsync(LocalCluster cluster, int killed)
    {
        for (var waited = Stopwatch.StartNew(); ; await Task.Delay(50, Cancel))
        {
            Assert.True(waited.Elapsed < TimeSpan.FromSeconds(60), "The server did not come back.");
            if (cluster.ClusterProcessId == killed)
            {
                continue;
            }

            try
            {
                await RunAsync(cluster, "SELECT 1");
                return;
            }
            catch (NpgsqlException)
            {
                // Still recovering.
            }
        }
    }
}
