using System.Security.Cryptography;
using System.Xml.Linq;
using Npgsql;

namespace School.Web.Platform.Keys;

internal enum KeysAre
{
    /// <summary>Wrapped, and this node opens them.</summary>
    Wrapped,

    /// <summary>Readable in the database and in every backup of it.</summary>
    Readable,

    /// <summary>Wrapped with a key that this node does not have.</summary>
    Locked,
}

/// <summary>How it stands with the keys; the sentence says what is wrong, with the path, for the log and the command line.</summary>
internal sealed record KeysState(KeysAre Are, string Sentence = "");

/// <summary>The keys in the database, as this node can use them.</summary>
internal sealed class KeyRing(string connectionString, KeyFile file)
{
    private readonly Lock gate = new();
    private (Guid Newest, Dictionary<Guid, AesBox> Boxes)? opened;

    /// <summary>The key that seals, and its box.</summary>
    /// <exception cref="KeysLockedException">This node does not open it.</exception>
    public (Guid Id, AesBox Box) Newest()
    {
        var (newest, boxes) = Opened();
        return (newest, boxes[newest]);
    }

    /// <summary>The box of a key; null where there is none of that name.</summary>
    public AesBox? Find(Guid id)
    {
        if (Opened().Boxes.TryGetValue(id, out var box))
        {
            return box;
        }

        // Another node may have made it since.
        lock (gate)
        {
            opened = null;
        }

        return Opened().Boxes.GetValueOrDefault(id);
    }

    /// <summary>The keys of this node's file, if they fit what stands in the database; none where keys stand readable.</summary>
    /// <exception cref="KeysLockedException">They do not.</exception>
    public IReadOnlyList<OuterKey> OuterKeys() => Look() is { Are: KeysAre.Locked } locked ? throw new KeysLockedException(locked.Sentence) : file.Read();

    public KeysState Look()
    {
        using var connection = new NpgsqlConnection(connectionString);
        connection.Open();
        return Look(KeyRows.Read(connection));
    }

    public KeysState Look(KeyRows rows)
    {
        IReadOnlyList<OuterKey> keys;
        try
        {
            keys = file.Read();
        }
        catch (KeysLockedException problem)
        {
            return new(KeysAre.Locked, problem.Message);
        }

        if (rows.Unopenable(keys) is { } unknown)
        {
            return new(KeysAre.Locked, keys.Count == 0
                ? $"The keys in the database are wrapped with the key {unknown}, and this node has no key file. Put the file with that key at {file.Path ?? $"a path that the setting {KeyFile.Setting.Replace(":", "__", StringComparison.Ordinal)} names"}."
                : $"The keys in the database are wrapped with the key {unknown}; the key file {file.Path} holds {string.Join(", ", keys.Select(k => k.Id))}. Every node needs the file with that key.");
        }

        return rows.AnyReadable ? new(KeysAre.Readable, "The keys stand readable in the database and in every backup of it.") : new(KeysAre.Wrapped);
    }

    private (Guid Newest, Dictionary<Guid, AesBox> Boxes) Opened()
    {
        lock (gate)
        {
            return opened ??= Open();
        }
    }

    private (Guid, Dictionary<Guid, AesBox>) Open()
    {
        using var connection = new NpgsqlConnection(connectionString);
        connection.Open();
        var rows = KeyRows.Read(connection);
        // A spoilt key of cookies is no reason to keep health notes shut.
        if (Look(rows with { Cookies = [] }) is { Are: KeysAre.Locked } locked)
        {
            throw new KeysLockedException(locked.Sentence);
        }

        var keys = file.Read();
        return rows.Sealing.Count == 0
            ? throw new KeysLockedException("The database holds no key for guarded fields yet. Run School.Web migrate.")
            : (rows.Sealing[^1].Id, rows.Sealing.ToDictionary(row => row.Id, row => new AesBox(row.Open(keys))));
    }
}

/// <summary>A key of guarded columns, as it stands in the database.</summary>
internal sealed record SealingRow(Guid Id, string? WrappedBy, byte[] Key)
{
    /// <exception cref="CryptographicException">It is not wrapped with the key of that id.</exception>
    public byte[] Open(IReadOnlyList<OuterKey> keys) => WrappedBy is null ? Key : keys.Single(k => k.Id == WrappedBy).Unwrap(Key, SealingKey.Purpose);
}

/// <summary>All keys in a database, oldest first. Read by plain SQL: a restored database may be older than the program.</summary>
internal sealed record KeyRows(IReadOnlyList<SealingRow> Sealing, IReadOnlyList<(int Id, XElement Xml)> Cookies)
{
    public bool AnyReadable => Sealing.Any(s => s.WrappedBy is null) || Cookies.Any(c => CookieKeyXml.IsReadable(c.Xml));

    public static KeyRows Read(NpgsqlConnection connection)
    {
        List<SealingRow> sealing = [];
        List<(int, XElement)> cookies = [];
        if (Exists(connection, "platform.sealing_keys"))
        {
            using var command = new NpgsqlCommand("SELECT id, wrapped_by, key FROM platform.sealing_keys ORDER BY made_at, id", connection);
            using var rows = command.ExecuteReader();
            while (rows.Read())
            {
                sealing.Add(new(rows.GetGuid(0), rows.IsDBNull(1) ? null : rows.GetString(1), (byte[])rows[2]));
            }
        }

        if (Exists(connection, "platform.data_protection_keys"))
        {
            using var command = new NpgsqlCommand("SELECT id, xml FROM platform.data_protection_keys WHERE xml IS NOT NULL ORDER BY id", connection);
            using var rows = command.ExecuteReader();
            while (rows.Read())
            {
                cookies.Add((rows.GetInt32(0), XElement.Parse(rows.GetString(1))));
            }
        }

        return new(sealing, cookies);
    }

    /// <summary>The id of a key that wraps something here and is not among those given, or does not open what it should; null when all open.</summary>
    public string? Unopenable(IReadOnlyList<OuterKey> keys)
    {
        var wrapping = Sealing.Select(s => s.WrappedBy).Concat(Cookies.Select(c => CookieKeyXml.WrappedBy(c.Xml))).OfType<string>().Distinct();
        if (wrapping.FirstOrDefault(id => keys.All(k => k.Id != id)) is { } missing)
        {
            return missing;
        }

        foreach (var row in Sealing)
        {
            try
            {
                row.Open(keys);
            }
            catch (CryptographicException)
            {
                return row.WrappedBy;
            }
        }

        return null;
    }

    private static bool Exists(NpgsqlConnection connection, string table)
    {
        using var command = new NpgsqlCommand("SELECT to_regclass($1) IS NOT NULL", connection) { Parameters = { new() { Value = table } } };
        return (bool)command.ExecuteScalar()!;
    }
}
