using Microsoft.EntityFrameworkCore;
using Npgsql;
using School.Web.Platform.Errors;

namespace School.Web.Platform.Database;

/// <summary>One way to write: inside a transaction, with refusals undone and clashes retried or told.</summary>
internal static class Transactions
{
    private const int Tries = 4;

    /// <summary>
    /// Runs the work in a transaction and commits it unless it refuses. Joins a transaction that is already open (the
    /// idempotent API opens one), undoing only its own part on refusal. Deadlocks and serialisation failures are tried again.
    /// </summary>
    public static async Task<Outcome<T>> InTransactionAsync<T>(this SchoolDb db, Func<CancellationToken, Task<Outcome<T>>> work, CancellationToken cancel)
        where T : notnull
    {
        for (var attempt = 1; ; attempt++)
        {
            var joined = db.Database.CurrentTransaction;
            var own = joined is null ? await db.Database.BeginTransactionAsync(cancel) : null;
            // A name of its own: rolling back to one that a nested call used again would undo only the nested part.
            var savepoint = $"work_{Guid.NewGuid():N}";
            if (joined is not null)
            {
                await joined.CreateSavepointAsync(savepoint, cancel);
            }

            Refusal? refusal;
            try
            {
                var outcome = await work(cancel);
                if (outcome.Ok)
                {
                    await db.SaveChangesAsync(cancel);
                    await (own?.CommitAsync(cancel) ?? Task.CompletedTask);
                    return outcome;
                }

                refusal = outcome.Refusal;
            }
            catch (DbUpdateConcurrencyException)
            {
                refusal = Refusal.Stale;
            }
            catch (Exception exception) when (Postgres(exception) is { } problem)
            {
                if (attempt < Tries && problem.SqlState is PostgresErrorCodes.DeadlockDetected or PostgresErrorCodes.SerializationFailure)
                {
                    // Going back to the savepoint lets go of the locks that were taken since, so a joined part may try again too.
                    await (own?.DisposeAsync().AsTask() ?? joined!.RollbackToSavepointAsync(savepoint, cancel));
                    db.ChangeTracker.Clear();
                    await Task.Delay(Random.Shared.Next(5, 40) * attempt, cancel);
                    continue;
                }

                refusal = ConstraintRefusals.Of(problem);
                if (refusal is null)
                {
                    throw;
                }
            }
            finally
            {
                if (own is not null)
                {
                    await own.DisposeAsync();
                }
            }

            if (joined is not null)
            {
                await joined.RollbackToSavepointAsync(savepoint, cancel);
            }

            db.ChangeTracker.Clear();
            return refusal;
        }
    }

    /// <summary>Takes the named locks until the transaction ends, always in the same order so that two callers cannot wait for each other.</summary>
    public static async Task LockAsync(this SchoolDb db, IEnumerable<string> names, CancellationToken cancel)
    {
        var ordered = names.Distinct(StringComparer.Ordinal).Order(StringComparer.Ordinal).ToArray();
        await db.Database.ExecuteSqlAsync(
            $"SELECT pg_advisory_xact_lock(hashtextextended(name, 0)) FROM unnest({ordered}) WITH ORDINALITY AS t(name, place) ORDER BY place", cancel);
    }

    private static PostgresException? Postgres(Exception exception) =>
        exception as PostgresException ?? exception.InnerException as PostgresException;
}
