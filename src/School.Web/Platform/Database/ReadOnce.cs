namespace School.Web.Platform.Database;

/// <summary>
/// What several parts of one request ask for, read once: the school, its rules, cars, instructors. Inside a transaction it is read
/// anew where locks guard it, since what was read before them may be stale, and nothing is remembered past a change of the request's own.
/// </summary>
internal sealed class ReadOnce
{
    private readonly SchoolDb _db;
    private readonly Dictionary<string, object> _read = new(StringComparer.Ordinal);

    public ReadOnce(SchoolDb db)
    {
        _db = db;
        db.SavedChanges += (_, _) => Forget();
    }

    /// <summary>From here on everything is read anew: for whoever has read a version and keeps what it stands for.</summary>
    public void Forget() => _read.Clear();

    /// <param name="what">A name of its own for what is read.</param>
    /// <param name="read">Reads it; what comes back is shared and must not be changed.</param>
    /// <param name="noLock">That no verb takes a lock for it, so that a transaction may go by what was read before.</param>
    public async Task<T> GetAsync<T>(string what, Func<Task<T>> read, bool noLock = false)
        where T : notnull
    {
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
