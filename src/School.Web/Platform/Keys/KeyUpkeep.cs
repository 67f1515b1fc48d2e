using System.Xml.Linq;
using Microsoft.AspNetCore.DataProtection.XmlEncryption;
using NodaTime;
using Npgsql;
using School.Web.Platform.Database;

namespace School.Web.Platform.Keys;

/// <summary>
/// Brings the keys in the database to where they should be: there is one for guarded columns, all are wrapped with the first key of
/// this node's file, and that file is there where the service makes it itself. Doing it twice is the same as once.
/// </summary>
internal sealed partial class KeyUpkeep(KeyFile file, KeyRing ring, IServiceProvider services, IConfiguration configuration, IClock clock, ILogger<KeyUpkeep> logger)
{
    /// <summary>How it stands afterwards. What this node cannot open stays as it is.</summary>
    public async Task<KeysState> RunAsync(string connectionString, CancellationToken cancel)
    {
        await using var connection = new NpgsqlConnection(connectionString);
        await connection.OpenAsync(cancel);
        await using var transaction = await connection.BeginTransactionAsync(cancel);
        await LockAsync(connection, cancel);
        var rows = KeyRows.Read(connection);
        var state = ring.Look(rows);
        if (state.Are == KeysAre.Locked)
        {
            Locked(logger, state.Sentence);
            return state;
        }

        var outer = OwnKey();
        if (rows.Sealing.Count == 0)
        {
            await AddSealingKeyAsync(connection, outer, cancel);
        }

        if (outer is not null)
        {
            await RewrapAsync(connection, rows, file.Read(), outer, Certificates(), cancel);
        }

        await transaction.CommitAsync(cancel);
        if (outer is null)
        {
            Unguarded(logger);
        }

        return ring.Look();
    }

    /// <summary>The key of this node's file, made where the service makes it; null where nobody gave one.</summary>
    public OuterKey? OwnKey()
    {
        var keys = file.Read();
        if (keys.Count > 0)
        {
            return keys[0];
        }

        if (!file.MayMake)
        {
            return null;
        }

        var made = file.Make();
        Made(logger, file.Path!);
        return made;
    }

    /// <summary>Wraps every key with one outer key.</summary>
    public static async Task RewrapAsync(
        NpgsqlConnection connection, KeyRows rows, IReadOnlyList<OuterKey> openers, OuterKey with, IXmlDecryptor? certificates, CancellationToken cancel)
    {
        foreach (var row in rows.Sealing.Where(r => r.WrappedBy != with.Id))
        {
            await using var update = new NpgsqlCommand("UPDATE platform.sealing_keys SET wrapped_by = $1, key = $2 WHERE id = $3", connection)
            {
                Parameters = { new() { Value = with.Id }, new() { Value = with.Wrap(row.Open(openers), SealingKey.Purpose) }, new() { Value = row.Id } },
            };
            await update.ExecuteNonQueryAsync(cancel);
        }

        foreach (var (id, xml) in rows.Cookies)
        {
            var anew = CookieKeyXml.WrapAnew(xml, openers, with, certificates);
            if (XNode.DeepEquals(xml, anew))
            {
                continue;
            }

            await using var update = new NpgsqlCommand("UPDATE platform.data_protection_keys SET xml = $1 WHERE id = $2", connection)
            {
                Parameters = { new() { Value = anew.ToString(SaveOptions.DisableFormatting) }, new() { Value = id } },
            };
            await update.ExecuteNonQueryAsync(cancel);
        }
    }

    private async Task AddSealingKeyAsync(NpgsqlConnection connection, OuterKey? outer, CancellationToken cancel)
    {
        var key = System.Security.Cryptography.RandomNumberGenerator.GetBytes(AesBox.KeyOctets);
        await using var insert = new NpgsqlCommand("INSERT INTO platform.sealing_keys (id, made_at, wrapped_by, key) VALUES ($1, to_timestamp($2), $3, $4)", connection)
        {
            Parameters =
            {
                new() { Value = RowId.New() },
                new() { Value = (double)clock.GetCurrentInstant().ToUnixTimeSeconds() },
                new() { Value = (object?)outer?.Id ?? DBNull.Value, NpgsqlDbType = NpgsqlTypes.NpgsqlDbType.Text },
                new() { Value = outer?.Wrap(key, SealingKey.Purpose) ?? key },
            },
        };
        await insert.ExecuteNonQueryAsync(cancel);
    }

    private EncryptedXmlDecryptor? Certificates() => KeysSetup.HasCertificate(configuration) ? new(services) : null;

    private static async Task LockAsync(NpgsqlConnection connection, CancellationToken cancel)
    {
        await using var command = new NpgsqlCommand("SELECT pg_advisory_xact_lock(hashtextextended('keys', 0))", connection);
        await command.ExecuteNonQueryAsync(cancel);
    }

    [LoggerMessage(Level = LogLevel.Information, Message = "The key file {Path} is made. It is in no backup, and without it a backup cannot be read in full: keep a copy apart from them")]
    private static partial void Made(ILogger logger, string path);

    [LoggerMessage(Level = LogLevel.Warning, Message = "The keys of sign-ins and guarded fields stand readable in the database and its backups. Set School__KeyFile (docs/operations.md, The key file)")]
    private static partial void Unguarded(ILogger logger);

    [LoggerMessage(Level = LogLevel.Error, Message = "{Sentence}")]
    private static partial void Locked(ILogger logger, string sentence);
}

/// <summary>The same when a node starts that does not migrate: the operator may have given it its key file just now.</summary>
internal sealed partial class KeyUpkeepAtStart(KeyUpkeep upkeep, KeysConnection connection, ILogger<KeyUpkeepAtStart> logger) : IHostedService
{
    public async Task StartAsync(CancellationToken cancellationToken)
    {
        try
        {
            await upkeep.RunAsync(connection.String, cancellationToken);
        }
        catch (NpgsqlException problem)
        {
            // Away, or not migrated yet: the node starts all the same, and its health says what is wrong.
            NotLookedAt(logger, problem.Message);
        }
    }

    public Task StopAsync(CancellationToken cancellationToken) => Task.CompletedTask;

    [LoggerMessage(Level = LogLevel.Warning, Message = "The keys could not be looked at: {Problem}")]
    private static partial void NotLookedAt(ILogger logger, string problem);
}

/// <summary>Where the keys are.</summary>
internal sealed record KeysConnection(string String);
