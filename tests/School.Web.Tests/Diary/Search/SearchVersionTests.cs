using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using Npgsql;
using School.Tests;
using School.Web.Modules.Diary.Search;
using School.Web.Tests.Host;

namespace School.Web.Tests.Diary.Search;

/// <summary>Whatever a search may remember counts its changes, so that no node offers times from what is no longer so.</summary>
public sealed class SearchVersionTests(TestPostgres postgres)
{
    // In pg_trigger.tgtype: 4 INSERT, 8 DELETE, 16 UPDATE. One that names columns or a condition would miss changes.
    private const string Silent = """
        SELECT t.name FROM unnest($1) AS t (name) WHERE NOT EXISTS (
            SELECT FROM pg_trigger g JOIN pg_proc f ON f.oid = g.tgfoid
            WHERE g.tgrelid = t.name::regclass AND g.tgenabled = 'O' AND g.tgtype & 28 = 28 AND cardinality(g.tgattr::int2[]) = 0 AND g.tgqual IS NULL
                AND f.prosrc LIKE '%day_versions%')
        ORDER BY 1
        """;

    private static readonly LocalDate From = new(2026, 3, 3);

    [Fact]
    public async Task Every_table_that_a_search_remembers_has_a_version_trigger()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var remembered = await RememberedAsync(school.Host);
        Assert.Superset(new HashSet<string> { "diary.lessons", "diary.test_days", "diary.working_hours", "people.instructors", "cars.cars" }, remembered);
        Assert.Equal([], await SilentAsync(school.Host, remembered));
    }

    [Theory]
    [InlineData("cars.off_road", "off_road_raise_version")]
    [InlineData("diary.test_days", "test_days_raise_day_versions")]
    public async Task A_table_whose_trigger_is_missing_is_found(string table, string trigger)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var remembered = await RememberedAsync(school.Host);
        await using (var source = NpgsqlDataSource.Create(school.Host.ConnectionString))
        {
            await using var drop = source.CreateCommand($"DROP TRIGGER {trigger} ON {table}");
            await drop.ExecuteNonQueryAsync();
        }

        Assert.Equal([table], await SilentAsync(school.Host, remembered));
    }

    /// <summary>The tables that stand in what the first search of a fresh node asks, but for the versions themselves.</summary>
    private static async Task<HashSet<string>> RememberedAsync(SchoolHost host)
    {
        await using var scope = host.Services.CreateAsyncScope();
        var diaries = scope.ServiceProvider.GetRequiredService<PreparedDiaries>();
        using var asked = new QueryCounter(host.ConnectionString);
        Assert.NotNull(await diaries.ReadAsync(From, From.PlusDays(6), only: null, [], CancellationToken.None));
        var texts = asked.Texts.ToList();
        var tables = await ListAsync(host, "SELECT schemaname || '.' || tablename FROM pg_tables WHERE schemaname <> ALL ($1)", ["pg_catalog", "information_schema"]);
        var found = tables.Where(table => texts.Any(text => text.Contains($"{table} ", StringComparison.Ordinal))).ToHashSet();
        Assert.True(found.Remove("diary.day_versions"));
        return found;
    }

    private static Task<List<string>> SilentAsync(SchoolHost host, IEnumerable<string> tables) => ListAsync(host, Silent, [.. tables]);

    private static async Task<List<string>> ListAsync(SchoolHost host, string sql, string[] parameter)
    {
        await using var source = NpgsqlDataSource.Create(host.ConnectionString);
        await using var command = source.CreateCommand(sql);
        command.Parameters.Add(new() { Value = parameter });
        await using var reader = await command.ExecuteReaderAsync();
        var rows = new List<string>();
        while (await reader.ReadAsync())
        {
            rows.Add(reader.GetString(0));
        }

        return rows;
    }
}
