using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using Npgsql;
using School.Tests;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Syllabus;
using School.Web.Tests.Host;

namespace School.Web.Tests;

/// <summary>A host that served one test serves the next as if it had just started.</summary>
public sealed class SharedHostTests(TestPostgres postgres)
{
    [Fact]
    public async Task Every_singleton_of_the_service_is_known_for_what_it_remembers()
    {
        await using var host = await SchoolHost.StartAsync(postgres, settings: [("Map:Tiles", "https://tiles.larkfield.example/{z}/{x}/{y}.png"), ("Map:Attribution", "Larkfield Surveys")]);
        _ = host.Services;
        var own = host.OwnSingletons.ToList();
        Assert.Equal([], own.Where(RememberedInProcess.MayRemember).Select(type => type.Name).Except(RememberedInProcess.Known.Keys).Order(StringComparer.Ordinal));
        Assert.Equal([], RememberedInProcess.Known.Keys.Except(own.Select(type => type.Name)).Order(StringComparer.Ordinal));
    }

    [Fact]
    public async Task A_host_that_is_put_back_is_as_new()
    {
        await using var used = await SchoolHost.StartAsync(postgres);
        await using var fresh = await SchoolHost.StartAsync(postgres);
        var begin = fresh.Clock.GetCurrentInstant();
        var teacher = await used.TeacherAsync();
        var pupil = await used.Data.PupilAsync(instructor: teacher.Instructor.Id);
        using (var office = await used.PagesAsAsync(await used.Data.OfficeAsync()))
        {
            Assert.True((await office.GetAsync("/syllabus")).IsSuccessStatusCode);
        }

        using (var api = await used.ApiAsAsync(await used.Data.OfficeAsync()))
        {
            Assert.True((await api.GetAsync($"/api/v1/slots?pupilId={pupil.Id}&from=2026-03-05&to=2026-03-05&minutes=60")).IsSuccessStatusCode);
        }

        Assert.NotNull(used.Services.GetRequiredService<SearchMemory>().School);

        used.Clock.AdvanceDays(3);
        used.Clock.AutoAdvance = Duration.FromSeconds(1);
        used.Services.GetRequiredService<EditionMemory>().Read.TryAdd(77, null!);
        Assert.NotEqual(await RowsAsync(fresh), await RowsAsync(used));

        await used.PutBackAsync();

        Assert.Equal(await RowsAsync(fresh), await RowsAsync(used));
        Assert.Equal((begin, begin), (used.Clock.GetCurrentInstant(), used.Clock.GetCurrentInstant()));
        Assert.Empty(used.Services.GetRequiredService<EditionMemory>().Read);
        Assert.Null(used.Services.GetRequiredService<SearchMemory>().School);
        Assert.Equal((await fresh.Data.OfficeAsync()).Email, (await used.Data.OfficeAsync()).Email);
    }

    [Fact]
    public async Task A_host_that_is_put_back_and_a_second_node_read_each_others_cookies()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using (await host.PagesAsAsync(await host.Data.OfficeAsync()))
        {
            await host.PutBackAsync();
        }

        await using var second = host.SecondNode();
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var cookies = (await office.GetAsync("/people/account")).RequestMessage!.Headers.GetValues("Cookie");
        using var there = second.Anonymous();
        there.DefaultRequestHeaders.Add("Cookie", cookies);
        Assert.Equal(System.Net.HttpStatusCode.OK, (await there.GetAsync("/people/account")).StatusCode);
    }

    /// <summary>How many rows stand in each table, and what they hold as a whole.</summary>
    private static async Task<string> RowsAsync(SchoolHost host)
    {
        var tables = await host.WithDbAsync(db => db.Database.SqlQueryRaw<string>(
            """
            SELECT format('%I.%I', schemaname, tablename) AS "Value" FROM pg_tables WHERE schemaname NOT IN ('pg_catalog', 'information_schema') ORDER BY 1
            """).ToListAsync());
        await using var connection = new NpgsqlConnection(host.ConnectionString);
        await connection.OpenAsync();
        var lines = new List<string>();
        foreach (var table in tables)
        {
            await using var command = new NpgsqlCommand($"SELECT count(*) || ' ' || coalesce(md5(string_agg(t::text, '|' ORDER BY t::text)), '') FROM {table} t", connection);
            lines.Add($"{table} {await command.ExecuteScalarAsync()}");
        }

        Assert.True(lines.Count > 40, $"Only {lines.Count} tables.");
        return string.Join('\n', lines);
    }
}
