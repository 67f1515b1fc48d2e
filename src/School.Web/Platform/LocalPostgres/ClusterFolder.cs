using System.Diagnostics;
using System.Globalization;
using System.Net;
using System.Net.Sockets;
using System.Runtime.Versioning;
using System.Security.Cryptography;
using System.Text;
using Npgsql;

namespace School.Web.Platform.LocalPostgres;

/// <summary>
/// What a private cluster keeps on disk. In the data folder: <c>postgres/</c> (the cluster), <c>postgres.password</c>,
/// <c>postgres.service-password</c>, <c>postgres.port</c>, <c>postgres.lock</c>. Outside it: the socket folder, so that a copy of the data folder never carries a live socket
/// and the path stays under the system's limit.
/// </summary>
[UnsupportedOSPlatform("windows")]
internal sealed class ClusterFolder : IDisposable
{
    public const string Superuser = "postgres";
    private const UnixFileMode OwnerOnly = UnixFileMode.UserRead | UnixFileMode.UserWrite;
    private const UnixFileMode OwnerOnlyFolder = OwnerOnly | UnixFileMode.UserExecute;
    private const int LongestSocketPath = 107;

    private readonly FileStream? processLock;

    private ClusterFolder(string dataFolder, UnprivilegedUser? user, FileStream? processLock)
    {
        this.processLock = processLock;
        User = user;
        DataFolder = dataFolder;
        Name = "school-" + Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(dataFolder)))[..12];
        SocketFolder = ShortFolder(Name, user is not null);
        Password = ReadOrCreate("postgres.password", NewPassword);
        ServicePassword = ReadOrCreate("postgres.service-password", NewPassword);
    }

    public string DataFolder { get; }
    public UnprivilegedUser? User { get; }

    /// <summary>Stands in the command line of every process of this cluster.</summary>
    public string Name { get; }
    public string SocketFolder { get; }

    /// <summary>Of the superuser and of the owner of the schema.</summary>
    public string Password { get; }

    /// <summary>Of the role that the service works as.</summary>
    public string ServicePassword { get; }
    public string Cluster => Path.Combine(DataFolder, "postgres");
    private string PidFile => Path.Combine(Cluster, "postmaster.pid");

    public static ClusterFolder Open(string dataFolder)
    {
        dataFolder = Path.GetFullPath(dataFolder);
        var user = UnprivilegedUser.IfRoot();
        if (!Directory.Exists(dataFolder))
        {
            Directory.CreateDirectory(dataFolder, OwnerOnlyFolder);
        }

        if (user is not null)
        {
            // The cluster's own user has to pass through; it can list and read nothing here but the cluster.
            File.SetUnixFileMode(dataFolder, File.GetUnixFileMode(dataFolder) | UnixFileMode.OtherExecute);
        }
        var lockFile = TakeLock(Path.Combine(dataFolder, "postgres.lock"));
        try
        {
            return new(dataFolder, user, lockFile);
        }
        catch
        {
            lockFile.Dispose();
            throw;
        }
    }

    /// <summary>The connection string of the cluster that another process runs in this folder, or null if none does.</summary>
    public static string? RunningElsewhere(string dataFolder, string user, string database)
    {
        dataFolder = Path.GetFullPath(dataFolder);
        var lockFile = Path.Combine(dataFolder, "postgres.lock");
        if (!File.Exists(lockFile))
        {
            return null;
        }

        try
        {
            TakeLock(lockFile).Dispose();
            return null;
        }
        catch (LocalPostgresException)
        {
            using var folder = new ClusterFolder(dataFolder, UnprivilegedUser.IfRoot(), processLock: null);
            var port = int.Parse(folder.ReadOrCreate("postgres.port", FreePort), CultureInfo.InvariantCulture);
            // Over loopback: the other process may have its socket in a temporary folder that only it can see.
            return new NpgsqlConnectionStringBuilder(folder.ConnectionString(user, port, database)) { Host = "127.0.0.1" }.ConnectionString;
        }
    }

    public int? ExistingMajor() =>
        Path.Combine(Cluster, "PG_VERSION") is var file && File.Exists(file)
            ? int.Parse(File.ReadAllText(file), CultureInfo.InvariantCulture) : null;

    /// <summary>Makes the cluster beside its place and moves it there whole, so that an interrupted start leaves nothing half made.</summary>
    public async Task InitialiseAsync(PostgresBinaries binaries, bool durable, CancellationToken cancel)
    {
        var draft = Cluster + ".new";
        if (Directory.Exists(draft))
        {
            Directory.Delete(draft, recursive: true);
        }

        Directory.CreateDirectory(draft, OwnerOnlyFolder);
        Posix.GiveTo(User, draft);
        var (reachable, _) = await Posix.RunAsync(Posix.Command(User, "test", "-w", draft), cancel);
        if (reachable != 0)
        {
            throw new LocalPostgresException($"The user {User?.Name ?? Environment.UserName} cannot reach {draft}. "
                + "Choose another data folder with SCHOOL_DATA, or run the service as an ordinary user.");
        }
        var passwordFile = Path.Combine(SocketFolder, "password");
        WritePrivately(passwordFile, Password);
        Posix.GiveTo(User, passwordFile);
        try
        {
            var (exitCode, output) = await Posix.RunAsync(Posix.Command(User, binaries.Program("initdb"), [
                "--pgdata", draft, "--username", Superuser, "--encoding", "UTF8", "--locale", OperatingSystem.IsLinux() ? "C.UTF-8" : "C",
                "--auth", "scram-sha-256", "--pwfile", passwordFile, .. durable ? Array.Empty<string>() : ["--no-sync"]]), cancel);
            if (exitCode != 0)
            {
                throw new LocalPostgresException($"The private database could not be made in {DataFolder}: {output}");
            }
        }
        finally
        {
            File.Delete(passwordFile);
        }
        Directory.Move(draft, Cluster);
    }

    /// <summary>Hands an existing cluster to the account it will run as: it may have been copied here, or made by another account.</summary>
    public async Task TakeOverAsync(CancellationToken cancel)
    {
        if (User is null || (await Posix.RunAsync(Posix.Command(User, "test", "-O", Cluster), cancel)).ExitCode == 0)
        {
            return;
        }

        var (exitCode, output) = await Posix.RunAsync(Posix.Command(null, "chown", "-R", $"{User.Id}:{User.GroupId}", Cluster), cancel);
        if (exitCode != 0)
        {
            throw new LocalPostgresException($"The folder {Cluster} could not be given to the user {User.Name}: {output}");
        }
    }

    /// <summary>The port chosen the first time, or a new one if another program has taken it since.</summary>
    public int Port()
    {
        var port = int.Parse(ReadOrCreate("postgres.port", FreePort), CultureInfo.InvariantCulture);
        if (PortIsFree(port))
        {
            return port;
        }

        File.Delete(Path.Combine(DataFolder, "postgres.port"));
        return int.Parse(ReadOrCreate("postgres.port", FreePort), CultureInfo.InvariantCulture);
    }

    public static bool PortIsFree(int port)
    {
        try
        {
            using var listener = new TcpListener(IPAddress.Loopback, port);
            listener.Start();
            return true;
        }
        catch (SocketException)
        {
            return false;
        }
    }

    /// <summary>Process id and state as the server itself writes them, or null when it has not (yet).</summary>
    public (int ProcessId, string State)? ServerState()
    {
        try
        {
            var lines = File.ReadAllLines(PidFile);
            return lines.Length >= 8 && int.TryParse(lines[0], out var id) ? (id, lines[7].Trim()) : null;
        }
        catch (IOException)
        {
            return null;
        }
    }

    /// <summary>
    /// Ends what an earlier, killed service left running here, and clears its lock files. Only after this may a server start:
    /// a process id in a lock file may since belong to another program, which PostgreSQL alone cannot tell apart.
    /// </summary>
    public async Task ClearLeftoversAsync(ILogger log, CancellationToken cancel)
    {
        var waited = Stopwatch.StartNew();
        for (var asked = 0; Leftovers() is { Count: > 0 } ids; await Task.Delay(50, cancel))
        {
            var signal = waited.Elapsed.TotalSeconds switch { > 40 => Posix.Kill, > 30 => Posix.Quit, _ => Posix.Interrupt };
            if (waited.Elapsed.TotalSeconds > 50)
            {
                throw new LocalPostgresException($"Server processes of an earlier run in {DataFolder} do not end: {string.Join(", ", ids)}.");
            }

            if (asked == signal)
            {
                continue;
            }

            asked = signal;
            ClusterLog.EndingLeftovers(log, ids.Count, DataFolder);
            // A postmaster takes its backends down in order; without one they leave by themselves.
            foreach (var id in ServerState() is { } server && ids.Contains(server.ProcessId) && signal != Posix.Kill ? [server.ProcessId] : ids)
            {
                Posix.Signal(id, signal);
            }
        }
        if (!Directory.Exists("/proc/self"))
        {
            return;
        }

        File.Delete(PidFile);
        foreach (var file in Directory.GetFiles(SocketFolder))
        {
            File.Delete(file);
        }
    }

    private List<int> Leftovers() =>
        [.. from process in Posix.Processes()
            let program = process.CommandLine[0]
            where program.StartsWith("postgres: " + Name, StringComparison.Ordinal)
                || (program.EndsWith("/postgres", StringComparison.Ordinal) && process.CommandLine.Contains("cluster_name=" + Name))
            select process.Id];

    public void PrepareSocketFolder()
    {
        Directory.CreateDirectory(SocketFolder, OwnerOnlyFolder);
        // Fails if another account made the folder first.
        File.SetUnixFileMode(SocketFolder, OwnerOnlyFolder);
        Posix.GiveTo(User, SocketFolder);
    }

    public string ConnectionString(string user, int port, string database) => new NpgsqlConnectionStringBuilder
    {
        Host = SocketFolder,
        Port = port,
        Username = user,
        Password = user == LocalCluster.ServiceRole ? ServicePassword : Password,
        Database = database,
    }.ConnectionString;

    public void Dispose()
    {
        if (processLock is null)
        {
            return;
        }

        if (Directory.Exists(SocketFolder))
        {
            Directory.Delete(SocketFolder, recursive: true);
        }

        processLock.Dispose();
    }

    private static FileStream TakeLock(string path)
    {
        try
        {
            var stream = new FileStream(path, new FileStreamOptions
            {
                Mode = FileMode.OpenOrCreate,
                Access = FileAccess.ReadWrite,
                Share = FileShare.None,
                UnixCreateMode = OwnerOnly,
            });
            stream.SetLength(0);
            stream.Write(Encoding.ASCII.GetBytes(Environment.ProcessId.ToString(CultureInfo.InvariantCulture)));
            stream.Flush();
            return stream;
        }
        catch (IOException) when (File.Exists(path))
        {
            throw new LocalPostgresException($"Another School process already uses the data folder {Path.GetDirectoryName(path)}. "
                + "Stop it first, or choose another folder with SCHOOL_DATA. Several nodes need one PostgreSQL server: set ConnectionStrings__School.");
        }
    }

    private static string ShortFolder(string name, bool root)
    {
        string?[] parents = [root ? "/run" : null, Environment.GetEnvironmentVariable("XDG_RUNTIME_DIR"), Path.GetTempPath(), "/tmp"];
        return parents.OfType<string>().Where(Directory.Exists).Select(parent => Path.Combine(parent, name))
            .First(folder => Encoding.UTF8.GetByteCount(folder) + "/.s.PGSQL.65535.lock".Length <= LongestSocketPath);
    }

    private static string NewPassword() => RandomNumberGenerator.GetHexString(48, lowercase: true);

    private static string FreePort()
    {
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        return ((IPEndPoint)listener.LocalEndpoint).Port.ToString(CultureInfo.InvariantCulture);
    }

    private string ReadOrCreate(string name, Func<string> create)
    {
        var path = Path.Combine(DataFolder, name);
        if (!File.Exists(path) || new FileInfo(path).Length == 0)
        {
            WritePrivately(path, create());
        }

        return File.ReadAllText(path).Trim();
    }

    private static void WritePrivately(string path, string text)
    {
        File.Delete(path);
        using var stream = new FileStream(path, new FileStreamOptions { Mode = FileMode.CreateNew, Access = FileAccess.Write, UnixCreateMode = OwnerOnly });
        stream.Write(Encoding.UTF8.GetBytes(text));
        stream.Flush(flushToDisk: true);
    }
}
