using System.Threading.Channels;
using School.Web.Platform.Access;

namespace School.Web.Modules.Diary.Events;

/// <summary>A change with the place that it has among all that was told.</summary>
/// <param name="Change">What changed.</param>
/// <param name="Transaction">By which transaction; null where it was read after a gap.</param>
/// <param name="Told">Of what they have been told who were told of this.</param>
internal sealed record ToldChange(DayChange Change, ulong? Transaction, ToldUpTo Told)
{
    public bool IsKnownTo(ToldUpTo since) => Transaction is { } transaction ? since.Holds(transaction) : since.Holds(Told);
}

/// <summary>What waits for one reader. It never waits for them: what they have no room for is left out, and they are told so.</summary>
internal sealed class LiveStream(Viewer viewer, int most)
{
    private readonly Channel<ToldChange> _waiting = Channel.CreateBounded<ToldChange>(new BoundedChannelOptions(most) { SingleReader = true });
    private volatile bool _lost;

    /// <summary>Who reads, as they were when it was last asked.</summary>
    public Viewer Viewer { get; private set; } = viewer;

    /// <summary>How many wait.</summary>
    public int Waiting => _waiting.Reader.Count;

    /// <summary>Whether anything is still to be said.</summary>
    public bool Waits => _lost || Waiting > 0;

    public void Offer(ToldChange change)
    {
        if (change.Change.IsFor(Viewer) && !_waiting.Writer.TryWrite(change))
        {
            _lost = true;
        }
    }

    /// <summary>Whatever was to be told, they have to read anew.</summary>
    public void Lose()
    {
        _lost = true;
        // Wakes the reader; where it is full, it is awake.
        _waiting.Writer.TryWrite(new(DayChange.Everything, null, new(0, [])));
    }

    /// <summary>What they may has changed; so may what they see.</summary>
    public void See(Viewer viewer)
    {
        if (viewer != Viewer)
        {
            Viewer = viewer;
            Lose();
        }
    }

    /// <summary>Whether something waits now, or comes within the time.</summary>
    public async Task<bool> WaitAsync(TimeSpan most, CancellationToken cancel)
    {
        using var limit = CancellationTokenSource.CreateLinkedTokenSource(cancel);
        limit.CancelAfter(most);
        try
        {
            return await _waiting.Reader.WaitToReadAsync(limit.Token);
        }
        catch (OperationCanceledException) when (!cancel.IsCancellationRequested)
        {
            return false;
        }
    }

    /// <summary>The next that waits; null with <paramref name="anew"/> where they have to read anew.</summary>
    public ToldChange? Next(out bool anew)
    {
        anew = _lost;
        if (!anew)
        {
            return _waiting.Reader.TryRead(out var next) ? next : null;
        }

        Empty();
        return null;
    }

    /// <summary>Forgets what waits.</summary>
    public void Empty()
    {
        // First this, so that what is lost from here on is told once more.
        _lost = false;
        while (_waiting.Reader.TryRead(out _))
        {
        }
    }
}
