using System.Diagnostics;

namespace School.Clients.Tests;

/// <summary>Runs a program to its end and fails with all it said when it does not succeed.</summary>
internal static class Tool
{
    private static readonly TimeSpan Longest = TimeSpan.FromMinutes(10);

    public static async Task<string> RunAsync(string folder, string program, params IEnumerable<string> arguments)
    {
        var start = new ProcessStartInfo(program, arguments) { WorkingDirectory = folder, RedirectStandardOutput = true, RedirectStandardError = true };
        // What the test runner sets for itself would reach a build inside a build.
        foreach (var name in start.Environment.Keys.Where(key => key.StartsWith("MSBUILD", StringComparison.OrdinalIgnoreCase) || key.StartsWith("DOTNET_HOST", StringComparison.Ordinal)).ToList())
        {
            start.Environment.Remove(name);
        }

        start.Environment["DOTNET_CLI_TELEMETRY_OPTOUT"] = "1";
        using var process = Process.Start(start)!;
        var (output, errors) = (process.StandardOutput.ReadToEndAsync(), process.StandardError.ReadToEndAsync());
        using var limit = new CancellationTokenSource(Longest);
        try
        {
            await process.WaitForExitAsync(limit.Token);
        }
        catch (OperationCanceledException)
        {
            process.Kill(entireProcessTree: true);
            Assert.Fail($"{program} took longer than {Longest.TotalMinutes} minutes.");
        }

        var said = await output;
        Assert.True(process.ExitCode == 0, $"{program} {string.Join(' ', arguments)} ended with {process.ExitCode}:\n{said}\n{await errors}");
        return said;
    }

    /// <summary>The folder of the repository, where the tools that it names are known.</summary>
    public static string Repository()
    {
        var folder = new DirectoryInfo(AppContext.BaseDirectory);
        while (folder is not null && !File.Exists(Path.Combine(folder.FullName, "School.sln")))
        {
            folder = folder.Parent;
        }

        return folder?.FullName ?? throw new InvalidOperationException("Not inside the repository.");
    }
}
