using System.Data.Common;
using System.Diagnostics;
using System.Runtime.CompilerServices;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Diagnostics;
using Microsoft.EntityFrameworkCore.Storage;
using Npgsql;

namespace School.Web.Platform.Database;

/// <summary>The rows of a question that was asked together with others; there after <see cref="ReadTogether.RunAsync"/>.</summary>
internal sealed class Rows<T>
{
    private List<T>? _all;

    public IReadOnlyList<T> All => _all ?? throw new InvalidOperationException("Not read yet.");

    internal void Are(List<T> all) => _all = all;
}

/// <summary>
/// Questions that are sent at once, in the order in which they were put, so that the locks which are held meanwhile are held for one
/// way to the database and back. Each sees what was committed when its turn came: what stands behind a lock, what stood after it was had.
/// </summary>
internal sealed class ReadTogether(SchoolDb db)
{
    private readonly List<(DbCommand Command, Func<CancellationToken, Task> Take)> _asked = [];
    private readonly List<Action> _after = [];
    private DbDataReader? _answers;

    /// <summary>Done when the rows of all questions are there.</summary>
    public void Then(Action after) => _after.Add(after);

    /// <summary>Locks as <see cref="Transactions.LockAsync"/> does.</summary>
    public void Lock(IEnumerable<string> names)
    {
        var command = new NpgsqlCommand(Transactions.Locks);
        command.Parameters.Add(Transactions.LocksOf(names));
        _asked.Add((command, cancel => _answers!.NextResultAsync(cancel)));
    }

    /// <summary>A point in the transaction to which it can be undone.</summary>
    // It gives no rows back, and the driver passes over such an answer by itself.
    public void Savepoint(string name) => _asked.Add((new NpgsqlCommand($"SAVEPOINT {name}"), _ => Task.CompletedTask));

    public Rows<T> Ask<T>(IQueryable<T> query)
    {
        var rows = new Rows<T>();
        _asked.Add((query.CreateDbCommand(), async cancel =>
        {
            using (GivenAnswers.For(db, _answers!))
            {
                rows.Are(await query.ToListAsync(cancel));
            }

            await _answers!.NextResultAsync(cancel);
        }
        ));
        return rows;
    }

    public async Task RunAsync(CancellationToken cancel)
    {
        if (_asked.Count == 0)
        {
            return;
        }

        await db.Database.OpenConnectionAsync(cancel);
        try
        {
            await using var batch = new NpgsqlBatch((NpgsqlConnection)db.Database.GetDbConnection(), (NpgsqlTransaction?)db.Database.CurrentTransaction?.GetDbTransaction());
            foreach (var (command, _) in _asked)
            {
                batch.BatchCommands.Add(Part(command));
            }

            var sent = Stopwatch.GetTimestamp();
            await using var answers = await batch.ExecuteReaderAsync(cancel);
            _answers = answers;
            foreach (var (_, take) in _asked)
            {
                await take(cancel);
            }

            SlowStatements.Note(db, Stopwatch.GetElapsedTime(sent), _asked.Select(asked => asked.Command.CommandText));
            _after.ForEach(after => after());
        }
        finally
        {
            _asked.ForEach(asked => asked.Command.Dispose());
            await db.Database.CloseConnectionAsync();
        }
    }

    private static NpgsqlBatchCommand Part(DbCommand command)
    {
        var part = new NpgsqlBatchCommand(command.CommandText);
        var parameters = command.Parameters.Cast<NpgsqlParameter>().ToArray();
        command.Parameters.Clear();
        part.Parameters.AddRange(parameters);
        return part;
    }
}

/// <summary>Lets the next query of a context read its rows from an answer that is there already, instead of asking for them.</summary>
internal sealed class GivenAnswers : DbCommandInterceptor
{
    private static readonly ConditionalWeakTable<DbContext, DbDataReader> Given = [];

    public static GivenAnswers Instance { get; } = new();

    public static IDisposable For(DbContext db, DbDataReader answer)
    {
        Given.Add(db, answer);
        return new Taken(db);
    }

    public override ValueTask<InterceptionResult<DbDataReader>> ReaderExecutingAsync(
        DbCommand command, CommandEventData eventData, InterceptionResult<DbDataReader> result, CancellationToken cancellationToken = default) =>
        ValueTask.FromResult(eventData.Context is { } db && Given.TryGetValue(db, out var answer) ? InterceptionResult<DbDataReader>.SuppressWithResult(new OneAnswer(answer)) : result);

    private sealed class Taken(DbContext db) : IDisposable
    {
        public void Dispose() => Given.Remove(db);
    }
}
