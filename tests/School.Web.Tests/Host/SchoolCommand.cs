using System.Diagnostics;
using School.Tests;

namespace School.Web.Tests.Host;

/// <summary>A command of the program, such as <c>migrate</c>, as a process of its own.</summary>
internal static class SchoolCommand
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(120);

    /// <summary>The exit code and all that was said, on both outputs together.</summary>
    public static async Task<(int ExitCode, string Said)> RunAsync(IReadOnlyDictionary<string, string> settings, params string[] args)
    {
        var start = new ProcessStartInfo("dotnet")
        {
            RedirectStandardOutput = true,
            RedirectStandardError = true,
            Environment =
            {
                ["ASPNETCORE_ENVIRONMENT"] = "Production",
                ["ASPNETCORE_CONTENTROOT"] = Path.GetDirectoryName(typeof(Program).Assembly.Location),
                ["School__KeyFile"] = TestKeyFile.Path,
            },
        };
        start.ArgumentList.Add(typeof(Program).Assembly.Location);
        foreach (var arg in args)
        {
            start.ArgumentList.Add(arg);
        }

        foreach (var (name, value) in settings)
        {
            start.Environment[name] = value;
        }

        using var process = Process.Start(start)!;
        using var limit = new CancellationTokenSource(Patience);
        try
        {
            var output = process.StandardOutput.ReadToEndAsync(limit.Token);
            var error = process.StandardError.ReadToEndAsync(limit.Token);
            await process.WaitForExitAsync(limit.Token);
            return (process.ExitCode, await output + await error);
        }
        finally
        {
            if (!process.HasExited)
            {
                process.Kill(entireProcessTree: true);
            }
        }
    }

    public static Task<(int ExitCode, string Said)> RunAsync(string connectionString, params string[] args) =>
        RunAsync(new Dictionary<string, string> { ["ConnectionStrings__School"] = connectionString }, args);
}
