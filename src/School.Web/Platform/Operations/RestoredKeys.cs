using System.Globalization;
using System.Runtime.Versioning;
using School.Web.Platform.Keys;
using School.Web.Platform.LocalPostgres;

namespace School.Web.Platform.Operations;

/// <summary>Sees that the keys in a backup open with a key file at hand, before anything is changed, and wraps them with this service's own afterwards.</summary>
[UnsupportedOSPlatform("windows")]
internal sealed class RestoredKeys(KeyFile own, KeyUpkeep upkeep)
{
    /// <summary>Null when they open; else why not.</summary>
    public async Task<string?> ProblemAsync(DatabaseClient database, int major, RestoreTerms terms, CancellationToken cancel)
    {
        try
        {
            var openers = Openers(terms);
            if (terms.Key is not null && own.Path is null)
            {
                return "This service has no key file of its own yet. Set School__KeyFile to one first (docs/operations.md, The key file).";
            }

            var (exit, data) = await Posix.RunAsync(
                database.Program(major, "pg_restore", "--data-only", "--schema=platform", "--table=sealing_keys", "--file=-", terms.File), cancel);
            if (exit != 0 || new KeyRows(Parse(data), []).Unopenable(openers) is not { } unknown)
            {
                return null;
            }

            var looked = new[] { own.Path, terms.Key }.OfType<string>().ToList();
            return $"The keys in this backup are wrapped with the key {unknown}, "
                + (looked.Count == 0 ? "and no key file is set." : $"which {string.Join(" and ", looked)} {(looked.Count == 1 ? "does" : "do")} not hold.")
                + " Name the key file of the service that wrote it: --key FILE.";
        }
        catch (KeysLockedException problem)
        {
            return problem.Message;
        }
    }

    public async Task TakeOverAsync(DatabaseClient database, RestoreTerms terms, CancellationToken cancel)
    {
        if (upkeep.OwnKey() is not { } with)
        {
            return;
        }

        await using var connection = await database.OpenAsync(cancel);
        await using var transaction = await connection.BeginTransactionAsync(cancel);
        await KeyUpkeep.RewrapAsync(connection, KeyRows.Read(connection), Openers(terms), with, null, cancel);
        await transaction.CommitAsync(cancel);
    }

    private List<OuterKey> Openers(RestoreTerms terms) => [.. own.Read(), .. terms.Key is { } key ? KeyFile.At(Path.GetFullPath(key)).Read() : []];

    /// <summary>What pg_restore writes: <c>COPY platform.sealing_keys (id, …) FROM stdin;</c>, a line a row with tabs, <c>\.</c> at the end.</summary>
    private static List<SealingRow> Parse(string data)
    {
        List<SealingRow> rows = [];
        string[]? columns = null;
        foreach (var line in data.Split('\n'))
        {
            if (line.StartsWith("COPY platform.sealing_keys (", StringComparison.Ordinal))
            {
                columns = line[(line.IndexOf('(', StringComparison.Ordinal) + 1)..line.IndexOf(')', StringComparison.Ordinal)].Split(", ");
            }
            else if (line == @"\.")
            {
                columns = null;
            }
            else if (columns is not null)
            {
                var values = line.Split('\t');
                string Of(string column) => values[Array.IndexOf(columns, column)];
                rows.Add(new(
                    Guid.Parse(Of("id"), CultureInfo.InvariantCulture), Of("wrapped_by") is @"\N" ? null : Of("wrapped_by"), Convert.FromHexString(Of("key")[3..])));
            }
        }

        return rows;
    }
}
