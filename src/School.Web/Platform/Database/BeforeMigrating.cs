using Microsoft.EntityFrameworkCore;
using Npgsql;

namespace School.Web.Platform.Database;

/// <summary>What has to hold before migrations run; what does not is a sentence for the person who runs the service.</summary>
internal static class BeforeMigrating
{
    private const string MaintenanceDatabase = "postgres";

    /// <summary>Makes the database where its server has none of that name. Left to EF, the question alone is logged as a failure.</summary>
    /// <exception cref="CannotStartException">The server does not answer, or the role may not.</exception>
    public static async Task EnsureDatabaseAsync(string connectionString, CancellationToken cancel)
    {
        var wanted = new NpgsqlConnectionStringBuilder(connectionString) { Pooling = false };
        try
        {
            await using var there = new NpgsqlConnection(wanted.ConnectionString);
            await there.OpenAsync(cancel);
        }
        catch (PostgresException problem) when (problem.SqlState == PostgresErrorCodes.InvalidCatalogName)
        {
            await MakeDatabaseAsync(wanted, cancel);
        }
        catch (NpgsqlException problem)
        {
            throw Unreachable(problem);
        }
    }

    /// <summary>Fails with a sentence where the server does not answer or has no such database.</summary>
    /// <exception cref="CannotStartException">So it is.</exception>
    public static async Task ReachAsync(string connectionString, CancellationToken cancel)
    {
        try
        {
            await using var there = new NpgsqlConnection(new NpgsqlConnectionStringBuilder(connectionString) { Pooling = false }.ConnectionString);
            await there.OpenAsync(cancel);
        }
        catch (NpgsqlException problem)
        {
            throw Unreachable(problem);
        }
    }

    /// <summary>Migrations begin with one that stands for all before it, so a database that had only some of those has no way on from here.</summary>
    /// <exception cref="CannotStartException">The database is such a one.</exception>
    public static async Task RefuseHalfwayAsync(SchoolDb db, CancellationToken cancel)
    {
        var known = db.Database.GetMigrations().ToList();
        var applied = (await db.Database.GetAppliedMigrationsAsync(cancel)).Order(StringComparer.Ordinal).ToList();
        if (applied.Count > 0 && !applied.Contains(known[0], StringComparer.Ordinal))
        {
            throw new CannotStartException(
                $"This database was left by an older program at {applied[^1]}; this program takes over from {known[0]}. "
                + "Run migrate of the release between them first, then this one. Nothing was changed.");
        }
    }

    private static CannotStartException Unreachable(NpgsqlException problem) => new($"The database cannot be reached: {problem.Message}");

    private static async Task MakeDatabaseAsync(NpgsqlConnectionStringBuilder wanted, CancellationToken cancel)
    {
        var server = new NpgsqlConnectionStringBuilder(wanted.ConnectionString) { Database = MaintenanceDatabase };
        try
        {
            await using var connection = new NpgsqlConnection(server.ConnectionString);
            await connection.OpenAsync(cancel);
            await using var create = new NpgsqlCommand($"CREATE DATABASE {new NpgsqlCommandBuilder().QuoteIdentifier(wanted.Database!)}", connection);
            await create.ExecuteNonQueryAsync(cancel);
        }
        catch (PostgresException problem) when (problem.SqlState is PostgresErrorCodes.DuplicateDatabase or PostgresErrorCodes.UniqueViolation)
        {
            // Another node made it in the same moment.
        }
        catch (NpgsqlException problem)
        {
            throw new CannotStartException($"There is no database {wanted.Database}, and it could not be made: {problem.Message}");
        }
    }
}
