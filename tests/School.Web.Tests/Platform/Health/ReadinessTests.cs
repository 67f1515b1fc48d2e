using System.Diagnostics;
using System.Net;
using System.Net.Http.Json;
using System.Runtime.Versioning;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Diagnostics.HealthChecks;
using Npgsql;
using School.Tests;
using School.Web.Platform.Database;
using School.Web.Platform.Health;
using School.Web.Platform.LocalPostgres;
using School.Web.Tests.Host;

namespace School.Web.Tests.Platform.Health;

public sealed class ReadinessTests(TestPostgres postgres)
{

    /// <summary>SIGSTOP: the server is there and takes connections, and nothing ever comes back.</summary>
    [Fact, UnsupportedOSPlatform("windows")]
    public async Task A_database_that_has_stopped_in_the_middle_of_a_word_is_told_within_seconds()
    {
        var folder = Directory.CreateTempSubdirectory("school-frozen-");
        try
        {
            await using var cluster = await LocalCluster.StartAsync(folder.FullName, new() { Durable = false });
            await using var host = await SchoolHost.OnAsync(postgres, cluster.OwnerConnectionString, cluster.ConnectionString + ";Timeout=3;Command Timeout=3");
            using var anybody = host.Anonymous();
            using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
            var car = new { label = "Corsa", plate = "LK20 ABC" };
            Assert.Equal(HttpStatusCode.OK, (await anybody.GetAsync("/health/ready")).StatusCode);
            Assert.NotEqual(HttpStatusCode.ServiceUnavailable, (await office.PostAsJsonAsync("/api/v1/cars", car)).StatusCode);
            var frozen = Freeze(cluster.ClusterProcessId);
            try
            {
                var (ready, took) = await TimedAsync(() => anybody.GetAsync("/health/ready"));
                Assert.Equal(HttpStatusCode.ServiceUnavailable, ready.StatusCode);
                Assert.True(took < TimeSpan.FromSeconds(4), $"ready took {took}");
                Assert.Contains("database: no answer", await ready.Content.ReadAsStringAsync(), StringComparison.Ordinal);
                (_, took) = await TimedAsync(() => anybody.GetAsync("/health/live"));
                Assert.True(took < TimeSpan.FromSeconds(2), $"live took {took}");

                var (written, waited) = await TimedAsync(() => office.PostAsJsonAsync("/api/v1/cars", car));
                Assert.Equal((HttpStatusCode.ServiceUnavailable, "database_away"), (written.StatusCode, await written.CodeAsync()));
                Assert.True(waited < TimeSpan.FromSeconds(8), $"a write waited {waited}");
            }
            finally
            {
                frozen.ForEach(id => Posix.Signal(id, Continue));
            }

            var patience = Stopwatch.StartNew();
            while ((await anybody.GetAsync("/health/ready")).StatusCode != HttpStatusCode.OK)
            {
                Assert.True(patience.Elapsed < TimeSpan.FromSeconds(30), "It never got ready again.");
                await Task.Delay(100);
            }
        }
        finally
        {
            folder.Delete(recursive: true);
        }
    }

    /// <summary>A trigger says what PostgreSQL says when a table cannot grow (SQLSTATE 53100).</summary>
    [Fact]
    public async Task A_full_disk_of_the_database_is_told_as_503_by_writes_pages_and_readiness_until_there_is_room()
    {
        await using var host = await SchoolHost.OfItsOwnAsync(postgres);
        using var anybody = host.Anonymous();
        var person = await host.Data.OfficeAsync();
        using var api = await host.ApiAsAsync(person);
        var car = await host.Data.CarAsync();
        await using var owner = NpgsqlDataSource.Create(host.ConnectionString);
        await using var fill = owner.CreateCommand(
            """
            CREATE FUNCTION platform.no_room() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RAISE 'could not extend file' USING ERRCODE = 'disk_full'; END $$;
            DO $$ DECLARE each regclass; BEGIN
                FOR each IN SELECT c.oid FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace
                    WHERE c.relkind = 'r' AND n.nspname IN ('platform', 'people', 'calendars', 'records') AND c.relname <> 'data_protection_keys'
                LOOP
                    EXECUTE format('CREATE TRIGGER no_room BEFORE INSERT OR UPDATE ON %s FOR EACH ROW EXECUTE FUNCTION platform.no_room()', each);
                END LOOP;
            END $$;
            """);
        await fill.ExecuteNonQueryAsync();
        Assert.Equal("Healthy\n", await anybody.GetStringAsync("/health/ready"));
        var answer = await api.PostAsJsonAsync("/api/v1/feeds", new { carId = car.Id, detail = "busy" });

        Assert.Equal((HttpStatusCode.ServiceUnavailable, "database_full"), (answer.StatusCode, await answer.CodeAsync()));
        Assert.NotNull(answer.Headers.RetryAfter);
        using var browser = host.Browser();
        var page = await browser.PostFormAsync("/people/sign-in", ("Input.Email", person.Email!), ("Input.Password", SchoolHost.Password));
        Assert.Equal(HttpStatusCode.ServiceUnavailable, page.StatusCode);
        var ready = await anybody.GetAsync("/health/ready");
        Assert.Equal((HttpStatusCode.ServiceUnavailable, "Unhealthy\nroom: The disk of the database is full.\n"), (ready.StatusCode, await ready.Content.ReadAsStringAsync()));

        await using var room = owner.CreateCommand("DROP FUNCTION platform.no_room() CASCADE");
        await room.ExecuteNonQueryAsync();
        Assert.Equal("Healthy\n", await anybody.GetStringAsync("/health/ready"));
        Assert.Equal(HttpStatusCode.Created, (await api.PostAsJsonAsync("/api/v1/feeds", new { carId = car.Id, detail = "busy" })).StatusCode);
        Assert.Equal(0, await host.WithDbAsync(db => db.Set<School.Web.Platform.Api.IdempotentAnswer>().CountAsync()));
    }

    [Theory]
    [InlineData(31, HealthStatus.Unhealthy)]
    [InlineData(33, HealthStatus.Degraded)]
    [InlineData(511, HealthStatus.Degraded)]
    [InlineData(512, HealthStatus.Healthy)]
    public void The_room_left_for_a_database_of_our_own_is_told_before_it_is_gone(long megabytes, HealthStatus status) =>
        Assert.Equal(status, RoomToWrite.Of(megabytes * 1024 * 1024).Status);

    [Fact]
    public void A_statement_waits_fifteen_seconds_unless_the_connection_string_says_otherwise()
    {
        var usual = new NpgsqlConnectionStringBuilder(ConnectionLimits.Of("Host=database;Username=school"));
        Assert.Equal((5, 15, 1000), (usual.Timeout, usual.CommandTimeout, usual.CancellationTimeout));
        var own = new NpgsqlConnectionStringBuilder(ConnectionLimits.Of("Host=database;Timeout=20;Command Timeout=90"));
        Assert.Equal((20, 90), (own.Timeout, own.CommandTimeout));
    }

    private const int Stop = 19;
    private const int Continue = 18;

    private static List<int> Freeze(int postmaster)
    {
        List<int> family = [postmaster, .. Posix.Processes().Select(p => p.Id).Where(id => ParentOf(id) == postmaster)];
        family.ForEach(id => Posix.Signal(id, Stop));
        return family;
    }

    /// <summary>The fourth word of /proc/PID/stat, after the name in brackets (proc_pid_stat(5)).</summary>
    private static int ParentOf(int id)
    {
        try
        {
            return int.Parse(File.ReadAllText($"/proc/{id}/stat").Split(") ", 2)[1].Split(' ')[1], System.Globalization.CultureInfo.InvariantCulture);
        }
        catch (IOException)
        {
            return 0;
        }
    }

    private static async Task<(HttpResponseMessage Answer, TimeSpan Took)> TimedAsync(Func<Task<HttpResponseMessage>> ask)
    {
        var watch = Stopwatch.StartNew();
        return (await ask(), watch.Elapsed);
    }
}
