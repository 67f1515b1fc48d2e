using System.Diagnostics;
using System.Runtime.InteropServices;
using System.Text;

namespace School.Web.Platform.LocalPostgres;

/// <summary>The few system calls and process habits that .NET does not offer.</summary>
internal static class Posix
{
    public const int Interrupt = 2;
    public const int Quit = 3;
    public const int Kill = 9;

    /// <summary>
    /// Put before a command line: when our end of its standard input closes, at the latest with our death, the program gets an
    /// orderly interrupt. The watcher is detached, since PostgreSQL takes the death of a child of its own for a crash.
    /// </summary>
    public static readonly string[] InterruptedWhenInputEnds =
    [
        "sh", "-c", "exec 3<&0 </dev/null; ( (read -r _ <&3; kill -INT $$) >/dev/null 2>&1 & ); exec \"$@\" 3<&-", "sh",
    ];

    public static bool Signal(int processId, int signal) => kill(processId, signal) == 0;

    public static void GiveTo(UnprivilegedUser? user, string path)
    {
        if (user is not null && lchown(Encoding.UTF8.GetBytes(path + '\0'), user.Id, user.GroupId) != 0)
        {
            throw new LocalPostgresException($"The folder {path} could not be given to the user {user.Name}.");
        }
    }

    /// <summary>Command lines of live processes, program first; empty where the system has no /proc.</summary>
    public static IEnumerable<(int Id, string[] CommandLine)> Processes()
    {
        if (!Directory.Exists("/proc/self"))
        {
            yield break;
        }

        foreach (var folder in Directory.EnumerateDirectories("/proc"))
        {
            if (!int.TryParse(Path.GetFileName(folder), out var id))
            {
                continue;
            }

            string[] commandLine;
            try
            {
                commandLine = File.ReadAllText(Path.Combine(folder, "cmdline")).Split('\0');
            }
            catch (Exception gone) when (gone is IOException or UnauthorizedAccessException)
            {
                continue;
            }
            yield return (id, commandLine);
        }
    }

    /// <summary>A command that runs as the given user, with none of our own PostgreSQL settings leaking in.</summary>
    public static ProcessStartInfo Command(UnprivilegedUser? user, string program, params IEnumerable<string> arguments)
    {
        IEnumerable<string> line = [program, .. arguments];
        if (user is not null)
        {
            line = ["setpriv", $"--reuid={user.Id}", $"--regid={user.GroupId}", "--clear-groups", "--inh-caps=-all", "--", .. line];
        }
        var start = new ProcessStartInfo(line.First())
        {
            RedirectStandardInput = true,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
            WorkingDirectory = "/",
        };
        foreach (var argument in line.Skip(1))
        {
            start.ArgumentList.Add(argument);
        }

        foreach (var name in start.Environment.Keys.Where(name => name.StartsWith("PG", StringComparison.Ordinal)).ToList())
        {
            start.Environment.Remove(name);
        }
        start.Environment["LC_ALL"] = "C";
        start.Environment["TZ"] = "UTC";
        return start;
    }

    public static async Task<(int ExitCode, string Output)> RunAsync(ProcessStartInfo start, CancellationToken cancel = default)
    {
        using var process = Process.Start(start)!;
        process.StandardInput.Close();
        var output = process.StandardOutput.ReadToEndAsync(cancel);
        var error = process.StandardError.ReadToEndAsync(cancel);
        await process.WaitForExitAsync(cancel);
        return (process.ExitCode, (await output + await error).Trim());
    }

    [DllImport("libc", SetLastError = true)]
    [DefaultDllImportSearchPaths(DllImportSearchPath.SafeDirectories)]
    private static extern int kill(int pid, int signal);

    [DllImport("libc", SetLastError = true)]
    [DefaultDllImportSearchPaths(DllImportSearchPath.SafeDirectories)]
    private static extern int lchown(byte[] path, int owner, int group);
}
