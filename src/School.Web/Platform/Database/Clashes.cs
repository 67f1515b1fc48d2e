using Npgsql;

namespace School.Web.Platform.Database;

/// <summary>
/// Two transactions that stood in each other's way. The database undoes one of them wholly, so that one may simply be done again,
/// from its very beginning: what it read before may no longer be true.
/// </summary>
internal static class Clashes
{
    private const int Tries = 4;

    /// <summary>Runs a whole transaction, and runs it again where it clashed; after a few tries the clash is the caller's.</summary>
    public static async Task<T> TryAgainAsync<T>(Func<Task<T>> transaction, CancellationToken cancel)
    {
        for (var attempt = 1; ; attempt++)
        {
            try
            {
                return await transaction();
            }
            catch (Exception exception) when (attempt < Tries && Is(exception))
            {
                // Of two that clashed, one should be through before the other begins again.
                await Task.Delay(Random.Shared.Next(5, 40) * attempt, cancel);
            }
        }
    }

    /// <remarks>
    /// A statement planned before a migration of the next release may no longer fit the table. The library forgets such a plan,
    /// and done again the statement is planned anew; the message is in the server's language, the place it comes from is not.
    /// </remarks>
    public static bool Is(Exception exception) => Problem(exception) is
    {
        SqlState: PostgresErrorCodes.DeadlockDetected or PostgresErrorCodes.SerializationFailure
    }
    or { SqlState: PostgresErrorCodes.FeatureNotSupported, Routine: "RevalidateCachedQuery" };

    /// <summary>What the database said, however deep it is wrapped: twice where it is held to be transient.</summary>
    public static PostgresException? Problem(Exception? exception) => exception switch
    {
        null => null,
        PostgresException problem => problem,
        AggregateException { InnerExceptions: var all } => all.Select(Problem).FirstOrDefault(problem => problem is not null),
        _ => Problem(exception.InnerException),
    };
}
