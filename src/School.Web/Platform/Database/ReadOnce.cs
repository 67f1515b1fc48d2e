using System.Diagnostics.CodeAnalysis;

namespace School.Web.Platform.Database;

/// <summary>
/// What several parts of one request ask for, read once: the school, its rules, cars, instructors. Inside a transaction it is read
/// anew where locks guard it, since what was read before them may be stale, and nothing is remembered past a change of the request's own.
/// What was read under those locks may be given for the rest of the transaction.
/// </summary>
internal sealed class ReadOnce
{
    private readonly SchoolDb _db;
    private readonly Dictionary<string, object> _read = new(StringComparer.Ordinal);
    private readonly Dictionary<string, object> _given = new(StringComparer.Ordinal);
    private Guid? _givenIn;

    public ReadOnce(SchoolDb db)
    {
        _db = db;
        db.SavedChanges += (_, _) => Forget();
    }

    /// <summary>From here on everything is read anew: for whoever has read a version and keeps what it stands for.</summary>
    public void Forget()
    {
        _read.Clear();
        _given.Clear();
    }

    /// <summary>What was read under the locks of the transaction that is open: it holds until that ends, or changes something itself.</summary>
    public void Give<T>(string what, T known)
        where T : notnull
    {
        if (_givenIn != OpenNow)
        {
            _given.Clear();
            _givenIn = OpenNow;
        }

        _given[what] = known;
    }

    /// <summary>What was given in the transaction that is open now.</summary>
    public bool Has<T>(string what, [MaybeNullWhen(false)] out T known)
        where T : notnull
    {
        var has = OpenNow is { } open && open == _givenIn && _given.ContainsKey(what);
        known = has ? (T)_given[what] : default;
        return has;
    }

    private Guid? OpenNow => _db.Database.CurrentTransaction?.TransactionId;

    /// <summary>
    /// Asks for it as a part of what is read together, so that whoever wants it later finds it. Nothing is asked where it is known, or
    /// where a transaction has to read it anew.
    /// </summary>
    public void Ahead<TRow, T>(ReadTogether together, string what, IQueryable<TRow> query, Func<IReadOnlyList<TRow>, T> make)
        where T : notnull
    {
        if (_db.Database.CurrentTransaction is null && !_read.ContainsKey(what))
        {
            var rows = together.Ask(query);
            together.Then(() => _read[what] = make(rows.All));
        }
    }

    /// <summary>Whether a part of what is read together would be asked for.</summary>
    public bool Wants(string what) => _db.Database.CurrentTransaction is null && !_read.ContainsKey(what);

    /// <param name="what">A name of its own for what is read.</param>
    /// <param name="read">Reads it; what comes back is shared and must not be changed.</param>
    /// <param name="noLock">That no verb takes a lock for it, so that a transaction may go by what was read before.</param>
    public async Task<T> GetAsync<T>(string what, Func<Task<T>> read, bool noLock = false)
        where T : notnull
    {
        if (Has<T>(what, out var given))
        {
            return given;
        }

        if (_db.Database.CurrentTransaction is not null && !noLock)
        {
            return await read();
        }

        if (!_read.TryGetValue(what, out var known))
        {
            _read[what] = known = await read();
        }

        return (T)known;
    }
}
