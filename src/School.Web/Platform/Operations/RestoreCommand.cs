using System.Diagnostics;
using System.Runtime.Versioning;
using School.Web.Platform.LocalPostgres;

namespace School.Web.Platform.Operations;

/// <summary>Reads a backup back, all or nothing.</summary>
[UnsupportedOSPlatform("windows")]
internal sealed class RestoreCommand(string connectionString, RestoredKeys? keys, IEnumerable<EndedByRenewal> ended)
{
    private static readonly TimeSpan Grace = TimeSpan.FromSeconds(5);

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

    private readonly DatabaseClient database = new(connectionString);

    /// <summary>Null when it was restored; else why it was not.</summary>
    public async Task<string?> RunAsync(RestoreTerms terms, CancellationToken cancel)
    {
        if (!File.Exists(terms.File))
        {
            return $"{terms.File} does not exist.";
        }

        var (major, tables, sessions) = await database.LookAsync(cancel);
        if (tables > 0 && !terms.Replace)
        {
            return $"The database is not empty: it has {tables} tables. To replace everything in it, add --replace.";
        }
        // A service stopped a moment ago may still be taking its leave.
        for (var waited = Stopwatch.StartNew(); sessions > 0 && waited.Elapsed < Grace;)
        {
            await Task.Delay(100, cancel);
            (_, _, sessions) = await database.LookAsync(cancel);
        }
        if (sessions > 0)
        {
            return $"The database is in use by {sessions} other sessions. Stop the service on every node first.";
        }

        var (readable, said) = await Posix.RunAsync(database.Program(major, "pg_restore", "--list", terms.File), cancel);
        if (readable != 0)
        {
            return $"{terms.File} is not a backup that can be read: {said}";
        }

        if (keys is not null && await keys.ProblemAsync(database, major, terms, cancel) is { } shut)
        {
            return $"Nothing was restored, and the database is as it was. {shut}";
        }

        var failure = await ReplayAsync(major, terms, cancel);
        if (failure is not null)
        {
            return $"Nothing was restored, and the database is as it was: {failure}";
        }

        await (keys?.TakeOverAsync(database, terms, cancel) ?? Task.CompletedTask);
        return null;
    }

    /// <summary>Null when everything was restored and committed, else why nothing was.</summary>
    private async Task<string?> ReplayAsync(int major, RestoreTerms terms, CancellationToken cancel)
    {
        using var source = Process.Start(database.Program(major, "pg_restore", "--no-owner", "--no-privileges", "--file=-", terms.File))!;
        using var target = Process.Start(database.Program(
            major, "psql", "--no-psqlrc", "--quiet", "--set=ON_ERROR_STOP=1", "--single-transaction", "--file=-"))!;
        source.StandardInput.Close();
        var sourceSaid = source.StandardError.ReadToEndAsync(cancel);
        var targetSaid = target.StandardError.ReadToEndAsync(cancel);
        var ignored = target.StandardOutput.ReadToEndAsync(cancel);
        try
        {
            if (terms.Replace)
            {
                await target.StandardInput.WriteLineAsync(EmptyDatabase.AsMemory(), cancel);
            }

            await target.StandardInput.FlushAsync(cancel);
            await source.StandardOutput.BaseStream.CopyToAsync(target.StandardInput.BaseStream, cancel);
            await source.WaitForExitAsync(cancel);
            // psql commits at the end of its input, so it must never see the end of half a backup.
            if (source.ExitCode != 0)
            {
                target.Kill();
            }
            // In the same transaction: a copy is never there with what must not open it.
            else if (terms.Kind == RestoreKind.Copy)
            {
                await target.StandardInput.WriteAsync(Renewal.Sql(ended).AsMemory(), cancel);
            }

            target.StandardInput.Close();
        }
        catch (IOException)
        {
            // psql gave up; it says why.
            if (!source.HasExited)
            {
                source.Kill();
            }
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
}
