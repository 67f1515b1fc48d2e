using System.Text.RegularExpressions;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using Npgsql;
using School.Tests;
using School.Web.Modules.People;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;

namespace School.Web.Tests.Platform.Database;

/// <summary>A connection goes from one request to the next as it is, so nothing may stay on it but plans.</summary>
public sealed partial class ConnectionReuseTests(TestPostgres postgres)
{
    /// <summary>What PostgreSQL's DISCARD ALL would have undone (its documentation lists it), but for plans and sequences' values.</summary>
    private const string Left = """
        SELECT 'setting ' || name FROM pg_settings WHERE source = 'session'
        UNION ALL SELECT 'role ' || current_user WHERE current_user <> session_user
        UNION ALL SELECT 'lock ' || objid FROM pg_locks WHERE locktype = 'advisory' AND pid = pg_backend_pid()
        UNION ALL SELECT 'temporary ' || relname FROM pg_class WHERE relnamespace = pg_my_temp_schema()
        UNION ALL SELECT 'cursor ' || name FROM pg_cursors WHERE is_holdable
        UNION ALL SELECT 'listens to ' || channel FROM pg_listening_channels() AS channel
        UNION ALL SELECT 'prepared by hand ' || name FROM pg_prepared_statements WHERE from_sql
        """;

    [Fact]
    public async Task Nothing_that_the_service_sends_stays_on_its_connections()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var host = school.Host;
        var thursday = DiaryApi.London(2026, 3, 5, 10);
        var lesson = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, thursday)).Id();
        // Refusals, by a rule and by a constraint, end in the middle of what they began.
        Assert.False((await school.Office.BookAsync(school.PupilId, school.InstructorId, thursday)).IsSuccessStatusCode);
        Assert.True((await school.Pupil.MoveAsync(lesson, thursday + Duration.FromHours(2))).IsSuccessStatusCode);
        Assert.True((await school.Pupil.CancelAsync(lesson)).IsSuccessStatusCode);
        using var pages = await host.PagesAsAsync(await host.Data.OfficeAsync("Second Office"));
        foreach (var route in (await SweptRoute.AllAsync(host.Services)).Where(route => route.Method == "GET" && !route.HasId && route.Allows(Hat.Office)))
        {
            using var answer = await (route.IsPage ? pages : school.Office).GetAsync(route.Url(), route.Streams ? HttpCompletionOption.ResponseHeadersRead : HttpCompletionOption.ResponseContentRead);
            Assert.True((int)answer.StatusCode < 500, route.Name);
        }

        var (planned, left) = await LookAsync(host);

        Assert.True(planned > 5, $"Only {planned} statements are planned: the connections looked at are not the service's.");
        Assert.Empty(left);
    }

    [Theory]
    [InlineData("SET lock_timeout = '1s'", "setting lock_timeout")]
    [InlineData("SET search_path = diary", "setting search_path")]
    [InlineData("SELECT pg_advisory_lock(7)", "lock 7")]
    [InlineData("CREATE TEMP TABLE left_over (id int)", "temporary left_over")]
    [InlineData("LISTEN something", "listens to something")]
    public async Task What_would_stay_is_found(string statement, string found)
    {
        await using var host = await SchoolHost.OfItsOwnAsync(postgres);
        await host.WithDbAsync(db => db.Database.ExecuteSqlRawAsync(statement));

        Assert.Equal([found], (await LookAsync(host)).Left);
    }

    [Fact]
    public async Task A_transaction_that_was_left_open_is_gone_for_the_next_request()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await Assert.ThrowsAsync<PostgresException>(() => host.WithDbAsync(async db =>
        {
            await db.Database.BeginTransactionAsync();
            await db.Database.ExecuteSqlAsync($"SET LOCAL lock_timeout = '1s'");
            await db.Database.ExecuteSqlAsync($"SELECT pg_advisory_xact_lock(7)");
            return await db.Database.ExecuteSqlAsync($"SELECT 1 / 0");
        }));

        Assert.Empty((await LookAsync(host)).Left);
    }

    [Fact]
    public async Task A_table_that_a_newer_release_widens_is_read_on_by_a_connection_with_old_plans()
    {
        await using var host = await SchoolHost.OfItsOwnAsync(postgres);
        for (var n = 0; n < 4; n++)
        {
            Assert.Equal(0, await WishesAsync(host));
        }

        await using var owner = NpgsqlDataSource.Create(host.ConnectionString);
        await using var widen = owner.CreateCommand("ALTER TABLE people.password_wishes ADD COLUMN later integer");
        await widen.ExecuteNonQueryAsync(TestContext.Current.CancellationToken);

        Assert.Equal(0, await WishesAsync(host));
    }

    [Fact]
    public void No_statement_in_the_source_outlives_its_transaction()
    {
        // It listens on a connection of its own, which is in no pool. Its lock is given back by name, on the owner's connection, which is reset.
        string[] known = ["src/School.Web/Modules/Diary/Events/ListenToChanges.cs", "src/School.Web/Platform/Jobs/JobSchema.cs", "src/School.Web/Platform/Operations/RestoreCommand.cs"];
        var found = Sources.Production().Where(file => Lasting().IsMatch(file.Text)).Select(file => file.Path).ToList();
        Assert.Equal(known, found.Intersect(known));
        Assert.Empty(found.Except(known));
    }

    [Theory]
    [InlineData("Host=db", "200", "true")]
    [InlineData("Host=db;MaxAutoPrepare=0;No Reset On Close=false", null, "false")]
    public void What_the_connection_string_says_itself_stays(string given, string? prepared, string noReset)
    {
        var made = new NpgsqlConnectionStringBuilder(ConnectionReuse.Of(given));
        Assert.Equal((int.Parse(prepared ?? "0", null), bool.Parse(noReset)), (made.MaxAutoPrepare, made.NoResetOnClose));
    }

    [GeneratedRegex(@"\bSET (SESSION|search_path|lock_timeout|statement_timeout|ROLE|TIME ZONE)\b|set_config\([^)]*false\)|pg_(try_)?advisory_lock\(|\bLISTEN [a-z]|CREATE TEMP|\bPREPARE [a-z]+ AS|WITH HOLD")]
    private static partial Regex Lasting();

    private static async Task<int> WishesAsync(SchoolHost host) => (await host.WithDbAsync(db => db.InTransactionAsync(
        async cancel => (Outcome<int>)(await db.Set<PasswordWish>().FromSql($"SELECT * FROM people.password_wishes LIMIT 1 FOR UPDATE SKIP LOCKED").ToListAsync(cancel)).Count,
        default))).Value;

    /// <summary>Takes every idle connection of the service out of its pool at once, so that each is looked at.</summary>
    private static async Task<(long Planned, List<string> Left)> LookAsync(SchoolHost host)
    {
        var idle = await host.WithDbAsync(db => db.Database.SqlQuery<int>(
            $"SELECT count(*)::int AS \"Value\" FROM pg_stat_activity WHERE datname = current_database() AND usename = current_user AND pid <> pg_backend_pid()").SingleAsync());
        var taken = new List<(AsyncServiceScope Scope, SchoolDb Db)>();
        var (planned, left) = (0L, new List<string>());
        try
        {
            for (var n = 0; n <= idle; n++)
            {
                var scope = host.Services.CreateAsyncScope();
                var db = scope.ServiceProvider.GetRequiredService<SchoolDb>();
                taken.Add((scope, db));
                await db.Database.OpenConnectionAsync();
                await using var command = db.Database.GetDbConnection().CreateCommand();
                command.CommandText = Left;
                await using (var reader = await command.ExecuteReaderAsync())
                {
                    while (await reader.ReadAsync())
                    {
                        left.Add(reader.GetString(0));
                    }
                }

                command.CommandText = "SELECT count(*) FROM pg_prepared_statements";
                planned += (long)(await command.ExecuteScalarAsync())!;
            }
        }
        finally
        {
            foreach (var (scope, _) in taken)
            {
                await scope.DisposeAsync();
            }
        }

        return (planned, left);
    }
}
