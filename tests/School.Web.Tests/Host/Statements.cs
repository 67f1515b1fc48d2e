using System.Collections.Concurrent;
using System.Diagnostics;
using Microsoft.EntityFrameworkCore.Diagnostics;
using Npgsql;

namespace School.Web.Tests.Host;

/// <summary>A statement as it was asked, so that it can be asked again.</summary>
internal sealed record Asked(string Text, IReadOnlyList<NpgsqlParameter> Parameters);

/// <summary>Listens to what one database of a test is asked, also where other tests run in the same process.</summary>
internal sealed class Statements : IObserver<DiagnosticListener>, IObserver<KeyValuePair<string, object?>>, IDisposable
{
    private readonly string _database;
    private readonly ConcurrentBag<IDisposable> _subscriptions = [];
    private readonly ConcurrentQueue<Asked> _heard = new();

    public Statements(SchoolHost host)
    {
        _database = new NpgsqlConnectionStringBuilder(host.ConnectionString).Database!;
        _subscriptions.Add(DiagnosticListener.AllListeners.Subscribe(this));
    }

    /// <summary>What was asked since the last look, in order.</summary>
    public IReadOnlyList<string> Take() => [.. TakeAsked().Select(asked => asked.Text)];

    /// <summary>The same with what was put in.</summary>
    public IReadOnlyList<Asked> TakeAsked()
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
            _heard.Enqueue(new(command.CommandText, [.. command.Parameters.Cast<NpgsqlParameter>().Select(parameter => parameter.Clone())]));
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
