using System.Collections.Concurrent;
using System.Diagnostics;
using Microsoft.EntityFrameworkCore.Diagnostics;
using Npgsql;

namespace School.Web.Tests.Host;

/// <summary>Listens to what one database of a test is asked, also where other tests run in the same process.</summary>
internal sealed class Statements : IObserver<DiagnosticListener>, IObserver<KeyValuePair<string, object?>>, IDisposable
{
    private readonly string _database;
    private readonly ConcurrentBag<IDisposable> _subscriptions = [];
    private readonly ConcurrentQueue<string> _heard = new();

    public Statements(SchoolHost host)
    {
        _database = new NpgsqlConnectionStringBuilder(host.ConnectionString).Database!;
        _subscriptions.Add(DiagnosticListener.AllListeners.Subscribe(this));
    }

    /// <summary>What was asked since the last look, in order.</summary>
    public IReadOnlyList<string> Take()
    {
        var taken = _heard.ToArray();
        _heard.Clear();
        return taken;
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
        if (value.Key == RelationalEventId.CommandExecuted.Name
            && value.Value is CommandExecutedEventData { Command: { Connection.Database: { } database } command } && database == _database)
        {
            _heard.Enqueue(command.CommandText);
        }
    }

    public void OnCompleted()
    {
    }

    public void OnError(Exception error)
    {
    }

    public void Dispose()
    {
        foreach (var subscription in _subscriptions)
        {
            subscription.Dispose();
        }
    }
}
