using School.Web.Platform.Access;

namespace School.Web.Modules.Diary.Events;

/// <summary>Where a stream begins.</summary>
/// <param name="Anew">What was missed is no longer known.</param>
/// <param name="Missed">What was missed.</param>
/// <param name="Id">Up to where they are told with that.</param>
internal sealed record LiveStart(bool Anew, IReadOnlyList<ToldChange> Missed, string Id);

/// <summary>The changes of days that this node has heard of, and the streams that are told of them. Nobody waits for a reader here.</summary>
internal sealed class LiveDays(LiveLimits limits)
{
    private readonly Lock _lock = new();
    private readonly HashSet<LiveStream> _streams = [];
    private readonly Queue<ToldChange> _remembered = new();
    private TaskCompletionSource _wanted = Waiter();
    private TaskCompletionSource _ready = Waiter();
    private string _database = "";
    private ToldUpTo _began = new(0, []);
    private ToldUpTo? _told;

    /// <summary>The transaction whose changes are being heard: it has been told once all of them have.</summary>
    private ulong? _hearing;

    public int Streams
    {
        get
        {
            lock (_lock)
            {
                return _streams.Count;
            }
        }
    }

    /// <summary>Events that wait for their readers, of the stream for which most do.</summary>
    public int MostWaiting
    {
        get
        {
            lock (_lock)
            {
                return _streams.Count == 0 ? 0 : _streams.Max(stream => stream.Waiting);
            }
        }
    }

    /// <summary>Up to where this node has heard; null while it does not listen.</summary>
    public ToldUpTo? Told
    {
        get
        {
            lock (_lock)
            {
                return _told;
            }
        }
    }

    /// <summary>The same as the id of an event.</summary>
    public string? Id
    {
        get
        {
            lock (_lock)
            {
                return _told is null ? null : IdOf(_told);
            }
        }
    }

    /// <summary>Ends when there is a stream.</summary>
    public Task Wanted
    {
        get
        {
            lock (_lock)
            {
                return _wanted.Task;
            }
        }
    }

    /// <summary>Ends when this node listens.</summary>
    public Task Ready
    {
        get
        {
            lock (_lock)
            {
                return _ready.Task;
            }
        }
    }

    public string IdOf(ToldUpTo told) => $"{_database}-{told}";

    /// <summary>Null where this person, or this node, has as many as there may be.</summary>
    public LiveStream? Open(Viewer viewer, out bool tooManyOfPerson)
    {
        lock (_lock)
        {
            tooManyOfPerson = _streams.Count(stream => stream.Viewer.PersonId == viewer.PersonId) >= limits.StreamsEach;
            if (tooManyOfPerson || _streams.Count >= limits.Streams)
            {
                return null;
            }

            var stream = new LiveStream(viewer, limits.Waiting);
            _streams.Add(stream);
            _wanted.TrySetResult();
            return stream;
        }
    }

    public void Close(LiveStream stream)
    {
        lock (_lock)
        {
            _streams.Remove(stream);
            if (_streams.Count == 0)
            {
                _wanted = Waiter();
            }
        }
    }

    /// <summary>From where a stream goes on, without a gap and without a change twice. Null where this node does not listen yet, or no more.</summary>
    public LiveStart? Start(LiveStream stream, string? lastEventId)
    {
        lock (_lock)
        {
            if (_told is not { } told)
            {
                return null;
            }

            // What came since it was opened is among what is remembered.
            stream.Empty();
            if (string.IsNullOrEmpty(lastEventId))
            {
                return new(false, [], IdOf(told));
            }

            var parts = lastEventId.Split('-', 2);
            if (parts.Length < 2 || parts[0] != _database || ToldUpTo.Parse(parts[1]) is not { } since || !since.Holds(_began))
            {
                return new(true, [], IdOf(told));
            }

            ToldChange[] missed = [.. _remembered.Where(one => !one.IsKnownTo(since) && one.Change.IsFor(stream.Viewer))];
            return missed.Length > limits.Waiting ? new(true, [], IdOf(told)) : new(false, missed, IdOf(missed.Length == 0 ? told : since));
        }
    }

    /// <summary>Up to where a stream for which nothing waits has been told; null where something does.</summary>
    public string? Quiet(LiveStream stream)
    {
        lock (_lock)
        {
            return _told is null || stream.Waits ? null : IdOf(_told);
        }
    }

    /// <summary>This node listens, from here on; who listened before to another database reads anew.</summary>
    public void Begin(string database, ToldUpTo over)
    {
        lock (_lock)
        {
            _remembered.Clear();
            _hearing = null;
            (_database, _began, _told) = (database, over, over);
            foreach (var stream in _streams)
            {
                stream.Lose();
            }

            _ready.TrySetResult();
        }
    }

    /// <summary>It need not listen any more. False where somebody reads.</summary>
    public bool TryEnd()
    {
        lock (_lock)
        {
            if (_streams.Count > 0)
            {
                return false;
            }

            Forget();
            return true;
        }
    }

    /// <summary>As if this node had never listened.</summary>
    public void Forget()
    {
        lock (_lock)
        {
            _remembered.Clear();
            (_told, _hearing) = (null, null);
            if (_ready.Task.IsCompleted)
            {
                _ready = Waiter();
            }
        }
    }

    public bool ListensTo(string database)
    {
        lock (_lock)
        {
            return _told is not null && _database == database;
        }
    }

    public void Tell(DayChange change, ulong transaction, ToldUpTo over)
    {
        lock (_lock)
        {
            if (_hearing != transaction)
            {
                Settle();
            }

            if (_told is { } told)
            {
                _hearing = transaction;
                Tell(new(change, transaction, told.And(over)));
            }
        }
    }

    /// <summary>Nothing more comes of the transaction that was heard last.</summary>
    public void Settle()
    {
        lock (_lock)
        {
            if (_hearing is { } transaction)
            {
                _told = _told?.And(transaction);
                _hearing = null;
            }
        }
    }

    /// <summary>After a gap: the days that moved meanwhile; null for more than can be told.</summary>
    public void CatchUp(IReadOnlyList<DayChange>? moved, ToldUpTo over)
    {
        lock (_lock)
        {
            _hearing = null;
            if (_told is not { } told)
            {
                return;
            }

            if (moved is null)
            {
                _remembered.Clear();
                (_began, _told) = (told.And(over), told.And(over));
                foreach (var stream in _streams)
                {
                    stream.Lose();
                }

                return;
            }

            foreach (var change in moved)
            {
                Tell(new(change, null, told.And(over)));
            }
        }
    }

    private void Tell(ToldChange told)
    {
        _told = told.Told;
        _remembered.Enqueue(told);
        if (_remembered.Count > limits.Remembered)
        {
            var forgotten = _remembered.Dequeue();
            _began = forgotten.Transaction is { } transaction ? forgotten.Told.And(transaction) : forgotten.Told;
        }

        foreach (var stream in _streams)
        {
            stream.Offer(told);
        }
    }

    private static TaskCompletionSource Waiter() => new(TaskCreationOptions.RunContinuationsAsynchronously);
}
