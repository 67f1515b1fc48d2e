using System.Diagnostics;
using System.Globalization;
using System.Runtime.Versioning;
using Npgsql;
using School.Web.Platform.LocalPostgres;

namespace School.Web.Platform.Operations;

/// <summary>
/// <c>backup FILE</c> writes the whole database to one file; <c>restore FILE [--replace]</c> reads it back, all or nothing.
/// The file is PostgreSQL's own custom archive, readable by its ordinary programs.
/// </summary>
[UnsupportedOSPlatform("windows")]
internal sealed class BackupCommand(string connectionString, TextWriter output, TextWriter error)
{
    private static readonly TimeSpan Grace = TimeSpan.FromSeconds(5);
    private const string Usage = "Usage: School.Web backup FILE | School.Web restore FILE [--replace]";

    // The service's tables and those of its jobs are all there is; the schema public is remade as a new database has it.
    private const string EmptyDatabase = """
        SET lock_timeout = '10s';
        SET client_min_messages = warning;
        DO $$ DECLARE schema name; BEGIN
            FOR schema IN SELECT nspname FROM pg_namespace WHERE nspname <> 'information_schema' AND nspname !~ '^pg_' LOOP
                EXECUTE format('DROP SCHEMA %I CASCADE', schema);
            END LOOP;
        END $$;
        CREATE SCHEMA public AUTHORIZATION pg_database_owner;
        GRANT USAGE ON SCHEMA public TO PUBLIC;
        """;

    /// <summary>0 when done, 1 when it could not be done (said on <paramref name="error"/>), 2 for a wrong command line.</summary>
    public static async Task<int> RunAsync(
        string[] args, string connectionString, TextWriter output, TextWriter error, CancellationToken cancel = default)
    {
        var command = new BackupCommand(connectionString, output, error);
        try
        {
            return args switch
            {
                ["backup", var file] => await command.BackupAsync(Path.GetFullPath(file), cancel),
                ["restore", var file] => await command.RestoreAsync(Path.GetFullPath(file), replace: false, cancel),
                ["restore", var file, "--replace"] => await command.RestoreAsync(Path.GetFullPath(file), replace: true, cancel),
                _ => await command.RefuseAsync(Usage, exitCode: 2),
            };
        }
        catch (Exception failure) when (failure is LocalPostgresException or NpgsqlException or IOException or UnauthorizedAccessException)
        {
            return await command.RefuseAsync(failure.Message);
        }
    }

    private async Task<int> BackupAsync(string file, CancellationToken cancel)
    {
        if (File.Exists(file)) return await RefuseAsync($"{file} exists already. Choose another name.");
        var (major, _, _) = await LookAsync(cancel);
        // Whole under its final name or not there at all, and readable only by its owner from the first byte.
        var draft = file + ".part";
        File.Delete(draft);
        new FileStream(draft, new FileStreamOptions
        {
            Mode = FileMode.CreateNew,
            Access = FileAccess.Write,
            UnixCreateMode = UnixFileMode.UserRead | UnixFileMode.UserWrite,
        }).Dispose();
        var (exitCode, said) = await Posix.RunAsync(
            Client(major, "pg_dump", "--format=custom", "--no-owner", "--no-privileges", "--file", draft), cancel);
        if (exitCode != 0)
        {
            File.Delete(draft);
            return await RefuseAsync($"The backup failed: {said}");
        }
        File.Move(draft, file);
        await output.WriteLineAsync(string.Create(CultureInfo.InvariantCulture, $"Backup written to {file}, {new FileInfo(file).Length / 1024} KiB. It holds personal data: keep it safe."));
        return 0;
    }

    private async Task<int> RestoreAsync(string file, bool replace, CancellationToken cancel)
    {
        if (!File.Exists(file)) return await RefuseAsync($"{file} does not exist.");
        var (major, tables, sessions) = await LookAsync(cancel);
        if (tables > 0 && !replace)
        {
            return await RefuseAsync($"The database is not empty: it has {tables} tables. To replace everything in it, add --replace.");
        }
        // A service stopped a moment ago may still be taking its leave.
        for (var waited = Stopwatch.StartNew(); sessions > 0 && waited.Elapsed < Grace;)
        {
            await Task.Delay(100, cancel);
            (_, _, sessions) = await LookAsync(cancel);
        }
        if (sessions > 0) return await RefuseAsync($"The database is in use by {sessions} other sessions. Stop the service on every node first.");
        var (readable, said) = await Posix.RunAsync(Client(major, "pg_restore", "--list", file), cancel);
        if (readable != 0) return await RefuseAsync($"{file} is not a backup that can be read: {said}");

        var failure = await ReplayAsync(major, file, replace, cancel);
        if (failure is not null) return await RefuseAsync($"Nothing was restored, and the database is as it was: {failure}");
        await output.WriteLineAsync($"Restored from {file}.");
        return 0;
    }

    /// <summary>Null when everything was restored and committed, else why nothing was.</summary>
    private async Task<string?> ReplayAsync(int major, string file, bool replace, CancellationToken cancel)
    {
        using var source = Process.Start(Client(major, "pg_restore", "--no-owner", "--no-privileges", "--file=-", file))!;
        using var target = Process.Start(Client(
            major, "psql", "--no-psqlrc", "--quiet", "--set=ON_ERROR_STOP=1", "--single-transaction", "--file=-"))!;
        source.StandardInput.Close();
        var sourceSaid = source.StandardError.ReadToEndAsync(cancel);
        var targetSaid = target.StandardError.ReadToEndAsync(cancel);
        var ignored = target.StandardOutput.ReadToEndAsync(cancel);
        try
        {
            if (replace) await target.StandardInput.WriteLineAsync(EmptyDatabase.AsMemory(), cancel);
            await target.StandardInput.FlushAsync(cancel);
            await source.StandardOutput.BaseStream.CopyToAsync(target.StandardInput.BaseStream, cancel);
            await source.WaitForExitAsync(cancel);
            // psql commits at the end of its input, so it must never see the end of half a backup.
            if (source.ExitCode != 0) target.Kill();
            target.StandardInput.Close();
        }
        catch (IOException)
        {
            // psql gave up; it says why.
            if (!source.HasExited) source.Kill();
        }
        catch (OperationCanceledException)
        {
            target.Kill();
            source.Kill();
            throw;
        }
        await target.WaitForExitAsync(cancel);
        await ignored;
        return target.ExitCode == 0 ? null : (await targetSaid + await sourceSaid).Trim();
    }

    private async Task<(int Major, long Tables, long OtherSessions)> LookAsync(CancellationToken cancel)
    {
        await using var connection = new NpgsqlConnection(new NpgsqlConnectionStringBuilder(connectionString) { Pooling = false }.ConnectionString);
        await connection.OpenAsync(cancel);
        await using var command = new NpgsqlCommand("""
            SELECT (SELECT count(*) FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace
                    WHERE c.relkind IN ('r', 'p') AND n.nspname <> 'information_schema' AND n.nspname !~ '^pg_'),
                   (SELECT count(*) FROM pg_stat_activity
                    WHERE datname = current_database() AND usesysid IS NOT NULL AND pid <> pg_backend_pid()
                        AND coalesce(backend_type, 'client backend') = 'client backend')
            """, connection);
        await using var reader = await command.ExecuteReaderAsync(cancel);
        await reader.ReadAsync(cancel);
        return (connection.PostgreSqlVersion.Major, reader.GetInt64(0), reader.GetInt64(1));
    }

    // Everything about the connection goes through the environment: command lines can be read by other accounts.
    private ProcessStartInfo Client(int serverMajor, string program, params string[] arguments)
    {
        var start = Posix.Command(null, PostgresBinaries.FindClients(serverMajor).Program(program), arguments);
        var to = new NpgsqlConnectionStringBuilder(connectionString);
        Dictionary<string, string?> settings = new()
        {
            ["PGHOST"] = to.Host,
            ["PGPORT"] = to.Port.ToString(CultureInfo.InvariantCulture),
            ["PGUSER"] = to.Username,
            ["PGPASSWORD"] = to.Password,
            ["PGPASSFILE"] = to.Passfile,
            ["PGDATABASE"] = to.Database ?? to.Username,
            ["PGSSLMODE"] = to.SslMode switch
            {
                SslMode.VerifyCA => "verify-ca",
                SslMode.VerifyFull => "verify-full",
                var mode => mode.ToString().ToLowerInvariant(),
            },
            ["PGSSLROOTCERT"] = to.RootCertificate,
            ["PGSSLCERT"] = to.SslCertificate,
            ["PGSSLKEY"] = to.SslKey,
            ["PGCLIENTENCODING"] = "UTF8",
        };
        foreach (var (name, value) in settings.Where(setting => !string.IsNullOrEmpty(setting.Value))) start.Environment[name] = value;
        return start;
    }

    private async Task<int> RefuseAsync(string sentence, int exitCode = 1)
    {
        await error.WriteLineAsync(sentence);
        return exitCode;
    }
}
