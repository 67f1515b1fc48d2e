using Npgsql;
using School.Tests;
using Xunit;

namespace School.Web.Tests.Platform;

public sealed class TestPostgresTests(TestPostgres postgres)
{
    [Fact]
    public async Task Each_test_database_is_its_own_copy_of_the_template()
    {
        await postgres.PrepareTemplateAsync("copied", connection => RunAsync(connection, "CREATE TABLE marks (id int)"));
        var first = await postgres.CreateDatabaseAsync("copied");
        var second = await postgres.CreateDatabaseAsync("copied");
        await RunAsync(first, "INSERT INTO marks VALUES (1)");
        Assert.Equal(1L, await RunAsync(first, "SELECT count(*) FROM marks"));
        Assert.Equal(0L, await RunAsync(second, "SELECT count(*) FROM marks"));
        await postgres.DropDatabaseAsync(first);
        var gone = await Assert.ThrowsAsync<PostgresException>(() => RunAsync(first, "SELECT 1"));
        Assert.Equal(PostgresErrorCodes.InvalidCatalogName, gone.SqlState);
    }

    [Fact]
    public async Task A_database_made_anew_is_reached_by_every_string_and_other_databases_keep_their_connections()
    {
        await postgres.PrepareTemplateAsync("copied", connection => RunAsync(connection, "CREATE TABLE marks (id int)"));
        var anew = await postgres.CreateDatabaseAsync("copied");
        var beside = await postgres.CreateDatabaseAsync("copied");
        foreach (var pooled in (string[])[anew, postgres.AsService(anew), $"{anew};Application Name=another"])
        {
            Assert.NotNull(await PooledAsync(pooled));
        }

        await postgres.CreateAnewAsync(anew, "copied");

        foreach (var pooled in (string[])[anew, postgres.AsService(anew), $"{anew};Application Name=another"])
        {
            Assert.NotNull(await PooledAsync(pooled));
        }

        // Without a pool under a string that nobody knows, no other database hears of it.
        NpgsqlConnection.ClearPool(new($"{anew};Application Name=another"));
        var kept = 0;
        // Tests beside this one may empty all pools at any moment, though not at each.
        for (var round = 0; round < 5 && kept == 0; round++)
        {
            var before = await PooledAsync(beside);
            await postgres.CreateAnewAsync(anew, "copied");
            kept += Equals(before, await PooledAsync(beside)) ? 1 : 0;
        }

        Assert.Equal(1, kept);
    }

    /// <summary>Who answers on the server, by a connection that goes back to its pool.</summary>
    private static async Task<object?> PooledAsync(string connection)
    {
        await using var pooled = new NpgsqlConnection(connection);
        await pooled.OpenAsync(TestContext.Current.CancellationToken);
        await using var command = new NpgsqlCommand("SELECT pg_backend_pid()", pooled);
        return await command.ExecuteScalarAsync(TestContext.Current.CancellationToken);
    }

    private static async Task<object?> RunAsync(string connection, string sql)
    {
        await using var source = NpgsqlDataSource.Create(connection);
        await using var command = source.CreateCommand(sql);
        return await command.ExecuteScalarAsync(TestContext.Current.CancellationToken);
    }
}
