using System.Collections.Concurrent;
using System.Diagnostics;
using Npgsql;

namespace School.Web.Tests.Diary;

/// <summary>Counts the commands that reach one database, by the driver's own activities.</summary>
internal sealed class QueryCounter : IDisposable
{
    private readonly ActivityListener _listener;
    private readonly ConcurrentQueue<string> _texts = new();
    private int _count;

    public QueryCounter(string connectionString)
    {
        var database = new NpgsqlConnectionStringBuilder(connectionString).Database;
        _listener = new()
        {
            ShouldListenTo = source => source.Name == "Npgsql",
            Sample = (ref ActivityCreationOptions<ActivityContext> options) => ActivitySamplingResult.AllData,
            ActivityStopped = activity =>
            {
                if (activity.TagObjects.Any(tag => tag.Value as string == database))
                {
                    Interlocked.Increment(ref _count);
                    if (activity.GetTagItem("db.query.text") is string text)
                    {
                        _texts.Enqueue(text);
                    }
                }
            },
        };
        ActivitySource.AddActivityListener(_listener);
    }

    public int Count => _count;

    /// <summary>What the commands said, in the order of their ends.</summary>
    public IReadOnlyCollection<string> Texts => _texts;

    public void Dispose() => _listener.Dispose();
}
