using System.Diagnostics;
using System.Globalization;
using System.Text.RegularExpressions;

namespace School.Web.Platform.LocalPostgres;

/// <summary>A folder with the programs of one PostgreSQL version, and the one way to find it.</summary>
internal sealed partial record PostgresBinaries(string Folder, int Major)
{
    public const int OldestMajor = 15;

    public string Program(string name) => Path.Combine(Folder, name);

    /// <summary>The first usable folder: of the given major version if one is named, else of any supported one.</summary>
    /// <exception cref="LocalPostgresException">Nothing usable is installed.</exception>
    public static PostgresBinaries Find(int? major = null, IEnumerable<string>? folders = null)
    {
        var others = new List<PostgresBinaries>();
        foreach (var binaries in Installed("postgres", folders).Where(binaries => File.Exists(binaries.Program("initdb"))))
        {
            if (binaries.Major >= OldestMajor && (major ?? binaries.Major) == binaries.Major)
            {
                return binaries;
            }

            others.Add(binaries);
        }
        throw new LocalPostgresException(WhyNot(major, others.FirstOrDefault()));
    }

    /// <summary>The first folder with client programs that understand a server of the given version.</summary>
    /// <exception cref="LocalPostgresException">There is none.</exception>
    public static PostgresBinaries FindClients(int serverMajor, IEnumerable<string>? folders = null) =>
        Installed("pg_dump", folders).FirstOrDefault(binaries => binaries.Major >= serverMajor && File.Exists(binaries.Program("psql")))
        ?? throw new LocalPostgresException($"The server is PostgreSQL {serverMajor}, and pg_dump of that version or newer is not installed here. "
            + $"Install the Debian package postgresql-client-{serverMajor} or newer.");

    private static IEnumerable<PostgresBinaries> Installed(string program, IEnumerable<string>? folders) =>
        from folder in (folders ?? UsualFolders()).Select(folder => Resolve(folder, program)).Distinct()
        let major = MajorOf(Path.Combine(folder, program))
        where major is not null
        select new PostgresBinaries(folder, major.Value);

    private static string WhyNot(int? major, PostgresBinaries? seen)
    {
        if (major is not null)
        {
            return $"The data folder was made by PostgreSQL {major}, which is not installed. "
                + $"Install the Debian package postgresql-{major}; to change version, back up with the old one and restore with the new.";
        }
        return seen is null
            ? "PostgreSQL is not installed. Install the Debian package postgresql (Debian 12 or newer), or set ConnectionStrings__School."
            : $"PostgreSQL {seen.Major} in {seen.Folder} is too old; {OldestMajor} or newer is needed. "
                + $"Install the Debian package postgresql-{OldestMajor} or newer, or set ConnectionStrings__School.";
    }

    private static IEnumerable<string> UsualFolders() =>
        (Environment.GetEnvironmentVariable("PATH") ?? "").Split(Path.PathSeparator, StringSplitOptions.RemoveEmptyEntries)
            .Concat(NewestFirst("/usr/lib/postgresql", "*", "bin"))
            .Concat(NewestFirst("/usr", "pgsql-*", "bin"))
            .Concat(NewestFirst("/opt/homebrew/opt", "postgresql*", "bin"))
            .Concat(NewestFirst("/usr/local/opt", "postgresql*", "bin"));

    private static IEnumerable<string> NewestFirst(string root, string pattern, string bin) =>
        Directory.Exists(root)
            ? Directory.GetDirectories(root, pattern)
                .OrderByDescending(folder => Number().Match(Path.GetFileName(folder)) is { Success: true } match
                    ? int.Parse(match.Value, CultureInfo.InvariantCulture) : 0)
                .Select(folder => Path.Combine(folder, bin))
            : [];

    // Debian puts links to single programs on PATH; the others are beside their target.
    private static string Resolve(string folder, string program)
    {
        var file = new FileInfo(Path.Combine(folder, program));
        return file.Exists && file.ResolveLinkTarget(returnFinalTarget: true) is { } target
            ? Path.GetDirectoryName(target.FullName)! : folder;
    }

    private static int? MajorOf(string program)
    {
        if (!File.Exists(program))
        {
            return null;
        }

        try
        {
            using var process = Process.Start(new ProcessStartInfo(program, "--version") { RedirectStandardOutput = true })!;
            var match = Number().Match(process.StandardOutput.ReadToEnd());
            process.WaitForExit();
            return match.Success ? int.Parse(match.Value, CultureInfo.InvariantCulture) : null;
        }
        catch (System.ComponentModel.Win32Exception)
        {
            // Not a program of this machine.
            return null;
        }
    }

    [GeneratedRegex(@"\d+")]
    private static partial Regex Number();
}
