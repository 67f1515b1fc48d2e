using Npgsql;
using School.Tests;
using School.Web.Platform.Database;

namespace School.Web.Tests.Platform.Database;

public sealed class RowIdTests(TestPostgres postgres)
{
    [Fact]
    public async Task Ten_thousand_ids_in_a_tight_loop_rise_in_the_order_of_PostgreSQL()
    {
        var ids = new Guid[10_000];
        for (var n = 0; n < ids.Length; n++)
        {
            ids[n] = RowId.New();
        }

        await using var source = NpgsqlDataSource.Create(await postgres.CreateDatabaseAsync());
        await using var ask = source.CreateCommand(
            "SELECT count(*) FROM (SELECT id, lag(id) OVER (ORDER BY place) AS before FROM unnest($1) WITH ORDINALITY AS t(id, place)) AS pairs WHERE before < id");
        ask.Parameters.Add(new() { Value = ids });
        Assert.Equal(ids.Length - 1L, await ask.ExecuteScalarAsync(TestContext.Current.CancellationToken));
    }

    [Fact]
    public void Ids_of_many_threads_are_all_different_and_of_version_7()
    {
        var ids = new Guid[40_000];
        Parallel.For(0, ids.Length, n => ids[n] = RowId.New());
        Assert.Equal(ids.Length, ids.Distinct().Count());
        // RFC 9562, 5.7: version 7 and the variant that begins with the bits 10.
        Assert.All(ids, id => Assert.Equal((7, 0b10), (id.Version, id.Variant >> 2)));
    }
}
