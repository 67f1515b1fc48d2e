using System.Collections.Concurrent;
using System.Diagnostics;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Diagnostics;
using Npgsql;

namespace School.Web.Tests.Host;

/// <summary>What one act cost the database.</summary>
/// <param name="Sent">What was sent and waited for, one after the other: commands and savepoints by the driver's own count, and COMMIT.</param>
/// <param name="Asked">Each statement with what was put in, also where several went together.</param>
/// <param name="Commits">Transactions that ended well, by the server's own count.</param>
internal sealed record DatabaseCost(IReadOnlyList<string> Sent, IReadOnlyList<Asked> Asked, long Commits)
{
    /// <summary>Statements that were asked more than once with the same values.</summary>
    public IReadOnlyList<string> Twice => [.. Asked.GroupBy(asked => (asked.Text, string.Join('\n', asked.Parameters.Select(Told)))).Where(same => same.Count() > 1).Select(same => same.Key.Text)];

    public override string ToString() => $"{Sent.Count} sent, {Commits} commits:\n{string.Join('\n', Sent.Select(text => "  " + Shortened(text)))}";

    private static string Told(NpgsqlParameter parameter) =>
        $"{parameter.ParameterName} {(parameter.Value is System.Collections.IEnumerable many and not string ? string.Join(',', many.Cast<object>()) : parameter.Value)}";

    private static string Shortened(string text)
    {
        var line = string.Join(' ', text.Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries));
        return line.Length <= 230 ? line : $"{line[..50]} … {line[^175..]}";
    }
}

/// <summary>Measures what acts cost one database of a test, also where other tests run in the same process.</summary>
internal sealed class DatabaseCosts : IObserver<DiagnosticListener>, IObserver<KeyValuePair<string, object?>>, IDisposable
{
    private readonly SchoolHost _host;
    private readonly string _database;
    private readonly Statements _statements;
    private readonly ActivityListener _driver;
    private readonly ConcurrentBag<IDisposable> _subscriptions = [];
    private readonly ConcurrentQueue<string> _sent = new();
    private long _ofOpening;

    private DatabaseCosts(SchoolHost host)
    {
        (_host, _database) = (host, new NpgsqlConnectionStringBuilder(host.ConnectionString).Database!);
        _statements = new(host);
        _driver = new()
        {
            ShouldListenTo = source => source.Name == "Npgsql",
            Sample = (ref ActivityCreationOptions<ActivityContext> _) => ActivitySamplingResult.AllData,
            ActivityStopped = activity =>
            {
                if (activity.TagObjects.Any(tag => tag.Value as string == _database) && activity.GetTagItem("db.query.text") is string text)
                {
                    _sent.Enqueue(text);
                }
            },
        };
        ActivitySource.AddActivityListener(_driver);
        _subscriptions.Add(DiagnosticListener.AllListeners.Subscribe(this));
    }

    public static async Task<DatabaseCosts> OnAsync(SchoolHost host)
    {
        var costs = new DatabaseCosts(host);
        // A server process commits something itself when it begins.
        var before = await costs.CountsAsync();
        await host.WithDbAsync(db => db.Database.ExecuteSqlAsync($"SELECT 1"));
        var after = await costs.CountsAsync();
        costs._ofOpening = (after.Commits - before.Commits - 1) / (after.Sessions - before.Sessions);
        return costs;
    }

    /// <summary>What was sent and waited for since the last look, and each statement of it.</summary>
    public (IReadOnlyList<string> Sent, IReadOnlyList<Asked> Asked) Take()
    {
        var sent = _sent.ToArray();
        _sent.Clear();
        return (sent, _statements.TakeAsked());
    }

    public async Task<DatabaseCost> OfAsync(Func<Task> act)
    {
        var before = await CountsAsync();
        Take();
        await act();
        var (sent, asked) = Take();
        var after = await CountsAsync();
        // What the host sent of its own accord once the act was over is not the act's.
        var (late, _) = Take();
        return new(sent, asked, after.Commits - before.Commits - ((after.Sessions - before.Sessions) * _ofOpening) - late.Count);
    }

    /// <summary>A server process counts what it did for good when it ends, so the service's are ended first.</summary>
    private async Task<(long Commits, long Sessions)> CountsAsync()
    {
        await _host.WithDbAsync(db =>
        {
            db.CloseIdleConnections();
            return Task.FromResult(true);
        });
        await using var elsewhere = NpgsqlDataSource.Create(new NpgsqlConnectionStringBuilder(_host.ConnectionString) { Database = "postgres", Pooling = false });
        while (await ScalarAsync(elsewhere, "SELECT count(*) FROM pg_stat_activity WHERE datname = $1") > 0)
        {
            await Task.Delay(20);
        }

        return (
            await ScalarAsync(elsewhere, "SELECT xact_commit FROM pg_stat_database WHERE datname = $1"),
            await ScalarAsync(elsewhere, "SELECT sessions FROM pg_stat_database WHERE datname = $1"));
    }

    private async Task<long> ScalarAsync(NpgsqlDataSource source, string question)
    {
        await using var command = source.CreateCommand(question);
        command.Parameters.Add(new() { Value = _database });
        return (long)(await command.ExecuteScalarAsync())!;
    }

    public void OnNext(DiagnosticListener value)
    {
        if (value.Name == "Microsoft.EntityFrameworkCore")
        {
            _subscriptions.Add(value.Subscribe(this));
        }
    }

    public void OnNext(KeyValuePair<string, object?> value)
    {
        if (Said(value.Key) is { } said && value.Value is TransactionEventData { Transaction.Connection.Database: { } database } && database == _database)
        {
            _sent.Enqueue(said);
        }
    }

    private static string? Said(string happened) =>
        happened == RelationalEventId.TransactionRolledBack.Name ? "ROLLBACK"
        : happened == RelationalEventId.TransactionCommitting.Name ? "COMMIT"
        : null;

    public void OnCompleted()
    {
    }

    public void OnError(Exception error)
    {
    }

    public void Dispose()
    {
        _statements.Dispose();
        _driver.Dispose();
        foreach (var subscription in _subscriptions)
        {
            subscription.Dispose();
        }
    }
}
