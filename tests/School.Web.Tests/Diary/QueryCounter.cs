using System.Diagnostics;
using Npgsql;

namespace School.Web.Tests.Diary;

/// <summary>Counts the commands that reach one database, by the driver's own activities.</summary>
internal sealed class QueryCounter : IDisposable
{
    private readonly ActivityListener _listener;
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
                }
            },
        };
        ActivitySource.AddActivityListener(_listener);
    }

    public int Count => _count;

    public void Dispose() => _listener.Dispose();
}
