using System.Runtime.CompilerServices;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Storage;
using Npgsql;
using School.Web.Platform.Errors;

namespace School.Web.Platform.Database;

/// <summary>One way to write: inside a transaction, with refusals undone and clashes done again or told.</summary>
internal static class Transactions
{
    /// <summary>Open transactions with a savepoint before which nothing was written: whoever joins first need not make one.</summary>
    private static readonly ConditionalWeakTable<IDbContextTransaction, string> Fresh = [];

    /// <summary>
    /// Runs the work in a transaction and commits it unless it refuses. The work takes what it needs inside, because it runs
    /// again from its beginning after a deadlock or a serialisation failure, be that in a statement or at COMMIT. Afterwards
    /// nothing is tracked any more.
    /// </summary>
    /// <remarks>
    /// Joins a transaction that is open already, undoing only its own part on refusal. A clash goes through to the outermost then:
    /// what was read before it belongs to a transaction that is gone.
    /// </remarks>
    /// <exception cref="InvalidOperationException">Rows were read to be changed before the transaction began. They may be stale, and would be lost when it runs again.</exception>
    public static Task<Outcome<T>> InTransactionAsync<T>(this SchoolDb db, Func<CancellationToken, Task<Outcome<T>>> work, CancellationToken cancel)
        where T : notnull
    {
        if (db.Database.CurrentTransaction is { } open)
        {
            return JoinAsync(db, open, work, cancel);
        }

        RefuseTracked(db);
        return Clashes.TryAgainAsync(() => BeginAsync(db, work, cancel), cancel);
    }

    /// <summary>One statement that stands for itself, such as a count: outside a transaction it is done again when it clashes.</summary>
    public static Task<T> AloneAsync<T>(this SchoolDb db, Func<Task<T>> statement, CancellationToken cancel)
    {
        if (db.Database.CurrentTransaction is not { } open)
        {
            return Clashes.TryAgainAsync(statement, cancel);
        }

        // It stays whatever becomes of the work of others.
        Fresh.Remove(open);
        return statement();
    }

    /// <summary>Makes the savepoint of the work that joins first together with the first reads of a transaction.</summary>
    public static void SaveFor(this ReadTogether together, IDbContextTransaction open)
    {
        const string First = "work_first";
        together.Savepoint(First);
        Fresh.AddOrUpdate(open, First);
    }

    /// <summary>Takes the named locks until the transaction ends, always in the same order so that two callers cannot wait for each other.</summary>
    public static Task LockAsync(this SchoolDb db, IEnumerable<string> names, CancellationToken cancel) =>
        db.Database.ExecuteSqlRawAsync(Locks, [LocksOf(names)], cancel);

    internal const string Locks =
        "SELECT pg_advisory_xact_lock(hashtextextended(name, 0)) FROM unnest(@names) WITH ORDINALITY AS t(name, place) ORDER BY place";

    internal static NpgsqlParameter LocksOf(IEnumerable<string> names) =>
        new("names", (string[])[.. names.Distinct(StringComparer.Ordinal).Order(StringComparer.Ordinal)]);

    private static async Task<Outcome<T>> BeginAsync<T>(SchoolDb db, Func<CancellationToken, Task<Outcome<T>>> work, CancellationToken cancel)
        where T : notnull
    {
        try
        {
            await using var transaction = await db.Database.BeginTransactionAsync(cancel);
            return await JudgedAsync(
                async () =>
                {
                    var outcome = await work(cancel);
                    if (outcome.Ok)
                    {
                        await db.SaveChangesAsync(cancel);
                        await transaction.CommitAsync(cancel);
                    }

                    return outcome;
                });
        }
        finally
        {
            db.ChangeTracker.Clear();
        }
    }

    private static async Task<Outcome<T>> JoinAsync<T>(
        SchoolDb db, IDbContextTransaction open, Func<CancellationToken, Task<Outcome<T>>> work, CancellationToken cancel)
        where T : notnull
    {
        if (Fresh.TryGetValue(open, out var savepoint))
        {
            Fresh.Remove(open);
        }
        else
        {
            // A name of its own: rolling back to one that a nested call used again would undo only the nested part.
            savepoint = $"work_{Guid.NewGuid():N}";
            await open.CreateSavepointAsync(savepoint, cancel);
        }

        var outcome = await JudgedAsync(
            async () =>
            {
                var outcome = await work(cancel);
                if (outcome.Ok)
                {
                    await db.SaveChangesAsync(cancel);
                }

                return outcome;
            });
        if (!outcome.Ok)
        {
            await open.RollbackToSavepointAsync(savepoint, cancel);
            db.ChangeTracker.Clear();
        }

        return outcome;
    }

    /// <summary>What the database refuses becomes a refusal where it has a sentence.</summary>
    private static async Task<Outcome<T>> JudgedAsync<T>(Func<Task<Outcome<T>>> work)
        where T : notnull
    {
        try
        {
            return await work();
        }
        catch (DbUpdateConcurrencyException)
        {
            return Refusal.Stale;
        }
        catch (Exception exception) when (Clashes.Problem(exception) is { } problem && ConstraintRefusals.Of(problem) is { } refusal)
        {
            return refusal;
        }
    }

    private static void RefuseTracked(SchoolDb db)
    {
        var tracked = db.ChangeTracker.Entries().Select(entry => entry.Metadata.ClrType.Name).Distinct().Order(StringComparer.Ordinal).ToList();
        if (tracked.Count > 0)
        {
            throw new InvalidOperationException(
                $"Read before the transaction and still tracked: {string.Join(", ", tracked)}. Take rows to be changed inside it, and read the others with AsNoTracking.");
        }
    }
}
