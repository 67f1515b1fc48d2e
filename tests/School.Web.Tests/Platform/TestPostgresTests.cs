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

    private static async Task<object?> RunAsync(string connection, string sql)
    {
        await using var source = NpgsqlDataSource.Create(connection);
        await using var command = source.CreateCommand(sql);
        return await command.ExecuteScalarAsync(TestContext.Current.CancellationToken);
    }
}
