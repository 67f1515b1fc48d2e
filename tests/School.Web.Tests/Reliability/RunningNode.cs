using System.Diagnostics;
using System.Net.Http.Headers;
using School.Tests;

namespace School.Web.Tests.Reliability;

/// <summary>The service as a process of its own, as it runs in production, on a given database.</summary>
internal sealed class RunningNode : IAsyncDisposable
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(60);
    private readonly Process _process;
    private bool _gone;

    private RunningNode(Process process, string url)
    {
        _process = process;
        Url = url;
    }

    public string Url { get; }

    public int ProcessId => _process.Id;

    public static async Task<RunningNode> StartAsync(string connectionString)
    {
        var start = new ProcessStartInfo("dotnet")
        {
            ArgumentList = { typeof(Program).Assembly.Location, "--urls", "http://127.0.0.1:0" },
            RedirectStandardOutput = true,
            RedirectStandardError = true,
            Environment =
            {
                ["ConnectionStrings__School"] = connectionString,
                ["ASPNETCORE_ENVIRONMENT"] = "Production",
                ["ASPNETCORE_CONTENTROOT"] = Path.GetDirectoryName(typeof(Program).Assembly.Location),
                ["School__RunJobs"] = "false",
                ["School__KeyFile"] = TestKeyFile.Path,
                ["School__PlainHttp"] = "true",
                ["School__StaffSecondStep"] = "offered",
                ["Logging__LogLevel__Default"] = "Warning",
            },
        };
        var process = Process.Start(start)!;
        var ready = new TaskCompletionSource<string>(TaskCreationOptions.RunContinuationsAsynchronously);
        var said = new List<string>();
        void Heard(object sender, DataReceivedEventArgs line)
        {
            if (line.Data is not { } text)
            {
                return;
            }

            lock (said)
            {
                said.Add(text);
            }

            if (text.StartsWith("ready ", StringComparison.Ordinal))
            {
                ready.TrySetResult(text["ready ".Length..]);
            }
        }

        process.OutputDataReceived += Heard;
        process.ErrorDataReceived += Heard;
        process.BeginOutputReadLine();
        process.BeginErrorReadLine();
        try
        {
            return new(process, await ready.Task.WaitAsync(Patience));
        }
        catch (TimeoutException)
        {
            process.Kill(entireProcessTree: true);
            throw new InvalidOperationException("The node did not get ready:\n" + string.Join('\n', said));
        }
    }

    public HttpClient Client(string token)
    {
        var client = new HttpClient { BaseAddress = new(Url), Timeout = Patience };
        client.DefaultRequestHeaders.Authorization = new AuthenticationHeaderValue("Bearer", token);
        return client;
    }

    /// <summary>Kills the process, as a machine does that goes away. A second time does nothing.</summary>
    public async ValueTask DisposeAsync()
    {
        if (_gone)
        {
            return;
        }

        _gone = true;
        if (!_process.HasExited)
        {
            _process.Kill();
            await _process.WaitForExitAsync();
        }

        _process.Dispose();
    }
}
