using System.Diagnostics;
using System.Runtime.Versioning;
using Npgsql;
using School.Tests;
using School.Web.Platform.LocalPostgres;

namespace School.Web.Tests.Demo.Scale;

/// <summary><c>demo --scale</c> as a process of its own on a data folder of its own, which can be killed and started again.</summary>
[UnsupportedOSPlatform("windows")]
internal sealed class ScaleRun(int lessons) : IAsyncDisposable
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(90);
    private static readonly TimeSpan Glance = TimeSpan.FromMilliseconds(10);

    private readonly string _folder = Directory.CreateTempSubdirectory("school-scale-").FullName;
    private readonly List<string> _said = [];
    private Process? _process;

    /// <summary>All that the last run has said.</summary>
    public string Said
    {
        get
        {
            lock (_said)
            {
                return string.Join('\n', _said);
            }
        }
    }

    /// <summary>The connection string of the owner of the schema, while a run is there.</summary>
    public string Owner => ClusterFolder.RunningElsewhere(_folder, LocalCluster.OwnerRole, "school")!;

    /// <summary>Kills it as soon as so many pupils are there, between one step and the next; true when it was ready before, and then it runs on.</summary>
    public async Task<bool> RunAsync(int pupils)
    {
        Start();
        var begun = Stopwatch.GetTimestamp();
        while (!Said.Contains("ready http", StringComparison.Ordinal))
        {
            if (pupils < int.MaxValue && Said.Contains("Making up", StringComparison.Ordinal) && await PupilsAsync() >= pupils)
            {
                await KillAsync();
                return false;
            }

            if (_process!.HasExited || Stopwatch.GetElapsedTime(begun) > Patience)
            {
                throw new InvalidOperationException("The run did not come to its end:\n" + Said);
            }

            await Task.Delay(Glance);
        }

        return true;
    }

    public async ValueTask DisposeAsync()
    {
        if (_process is { HasExited: false })
        {
            // A signal, not a kill: the private database stops with its service.
            Posix.Signal(_process.Id, Posix.Interrupt);
            await _process.WaitForExitAsync();
        }

        _process?.Dispose();
        Directory.Delete(_folder, recursive: true);
    }

    private void Start()
    {
        _said.Clear();
        _process = Process.Start(new ProcessStartInfo("dotnet")
        {
            ArgumentList = { typeof(Program).Assembly.Location, "demo", "--scale", $"{lessons}", "--data", _folder, "--urls", "http://127.0.0.1:0" },
            RedirectStandardOutput = true,
            RedirectStandardError = true,
            Environment =
            {
                ["ASPNETCORE_ENVIRONMENT"] = "Production",
                ["ASPNETCORE_CONTENTROOT"] = Path.GetDirectoryName(typeof(Program).Assembly.Location),
                ["School__RunJobs"] = "false",
                ["School__KeyFile"] = TestKeyFile.Path,
                ["Logging__LogLevel__Default"] = "Warning",
            },
        })!;
        _process.OutputDataReceived += Heard;
        _process.ErrorDataReceived += Heard;
        _process.BeginOutputReadLine();
        _process.BeginErrorReadLine();
    }

    private void Heard(object sender, DataReceivedEventArgs line)
    {
        if (line.Data is { } text)
        {
            lock (_said)
            {
                _said.Add(text);
            }
        }
    }

    private async Task KillAsync()
    {
        _process!.Kill();
        await _process.WaitForExitAsync();
        _process.Dispose();
    }

    private async Task<long> PupilsAsync()
    {
        await using var source = NpgsqlDataSource.Create(Owner);
        await using var count = source.CreateCommand("SELECT count(*) FROM pupils.pupils");
        return (long)(await count.ExecuteScalarAsync())!;
    }
}
