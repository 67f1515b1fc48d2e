using System.Globalization;
using System.Runtime.Versioning;
using Npgsql;
using School.Web.Platform.Keys;
using School.Web.Platform.LocalPostgres;

namespace School.Web.Platform.Operations;

/// <summary>
/// <c>backup FILE</c> writes the whole database to one file; <c>restore FILE</c> reads it back, all or nothing; <c>renew</c> makes
/// everybody sign in anew. The file is PostgreSQL's own custom archive, readable by its ordinary programs.
/// </summary>
[UnsupportedOSPlatform("windows")]
internal sealed class BackupCommand(string connectionString, TextWriter output, TextWriter error)
{
    private const string Usage = """
        Usage: School.Web backup FILE
               School.Web restore FILE [--replace] --moves | --copy [--key FILE]
               School.Web renew
        --moves: the school moves to this database; sign-ins, links and calendar addresses go on working.
        --copy: a copy, or after a theft; everybody signs in anew, and tokens, links and calendar addresses end.
        --key: the key file of the service that wrote the backup, where it is not this one's own.
        """;

    private const string Renewed = "Everybody signs in anew: sign-ins, tokens, links in mails and calendar addresses from before are worthless.";

    private readonly DatabaseClient database = new(connectionString);

    /// <summary>0 when done, 1 when it could not be done (said on <paramref name="error"/>), 2 for a wrong command line.</summary>
    /// <param name="args">The command line.</param>
    /// <param name="connectionString">The database.</param>
    /// <param name="output">What was done.</param>
    /// <param name="error">What could not be done, and questions.</param>
    /// <param name="services">The service, which knows its keys and what ends; null for a database that is not one of it.</param>
    /// <param name="answers">Whoever sits there; null when nobody does.</param>
    /// <param name="cancel">Stops.</param>
    public static async Task<int> RunAsync(
        string[] args, string connectionString, TextWriter output, TextWriter error, IServiceProvider? services = null, TextReader? answers = null, CancellationToken cancel = default)
    {
        var command = new BackupCommand(connectionString, output, error);
        try
        {
            return args switch
            {
                ["backup", var file] when !file.StartsWith('-') => await command.BackupAsync(Path.GetFullPath(file), services?.GetRequiredService<KeyFile>().Path, cancel),
                ["restore", .. var words] when RestoreTerms.Parse(words) is { } terms => await command.RestoreAsync(terms, services, answers, cancel),
                ["renew"] when services is not null => await command.RenewAsync(services.GetServices<EndedByRenewal>(), cancel),
                _ => await command.RefuseAsync(Usage, exitCode: 2),
            };
        }
        catch (Exception failure) when (failure is LocalPostgresException or KeysLockedException or NpgsqlException or IOException or UnauthorizedAccessException)
        {
            return await command.RefuseAsync(failure.Message);
        }
    }

    private async Task<int> BackupAsync(string file, string? keyFile, CancellationToken cancel)
    {
        if (File.Exists(file))
        {
            return await RefuseAsync($"{file} exists already. Choose another name.");
        }

        var (major, tables, _) = await database.LookAsync(cancel);
        if (tables == 0)
        {
            return await RefuseAsync("Nothing is in this database. Let SCHOOL_DATA or ConnectionStrings__School name the one of your school.");
        }

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
            database.Program(major, "pg_dump", "--format=custom", "--no-owner", "--no-privileges", "--file", draft), cancel);
        if (exitCode != 0)
        {
            File.Delete(draft);
            return await RefuseAsync($"The backup failed: {said}");
        }
        File.Move(draft, file);
        await output.WriteLineAsync(string.Create(CultureInfo.InvariantCulture, $"Backup written to {file}, {new FileInfo(file).Length / 1024} KiB. It holds personal data: keep it safe."));
        if (keyFile is not null)
        {
            await output.WriteLineAsync($"It cannot be restored without the key file {keyFile}, which is not in it: keep a copy of that in another place.");
        }

        return 0;
    }

    private async Task<int> RestoreAsync(RestoreTerms said, IServiceProvider? services, TextReader? answers, CancellationToken cancel)
    {
        var kind = said.Kind ?? await RestoreTerms.AskAsync(answers, error, cancel);
        if (kind is null)
        {
            return await RefuseAsync($"Say what the restore is for.\n{Usage}", exitCode: 2);
        }

        var terms = said with { File = Path.GetFullPath(said.File), Kind = kind };
        var keys = services is null ? null : new RestoredKeys(services.GetRequiredService<KeyFile>(), services.GetRequiredService<KeyUpkeep>());
        if (await new RestoreCommand(connectionString, keys, services?.GetServices<EndedByRenewal>() ?? []).RunAsync(terms, cancel) is { } refusal)
        {
            return await RefuseAsync(refusal);
        }
        await output.WriteLineAsync($"Restored from {terms.File}.");
        if (kind == RestoreKind.Copy)
        {
            await output.WriteLineAsync(Renewed);
        }

        return 0;
    }

    private async Task<int> RenewAsync(IEnumerable<EndedByRenewal> ended, CancellationToken cancel)
    {
        await using var connection = await database.OpenAsync(cancel);
        await using var command = new NpgsqlCommand(Renewal.Sql(ended), connection);
        await command.ExecuteNonQueryAsync(cancel);
        await output.WriteLineAsync($"{Renewed} Restart every node, so that it makes new keys at once.");
        return 0;
    }

    private async Task<int> RefuseAsync(string sentence, int exitCode = 1)
    {
        await error.WriteLineAsync(sentence);
        return exitCode;
    }
}
