using System.Runtime.Versioning;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using Npgsql;
using School.Tests;
using School.Web.Demo.Scale;
using School.Web.Modules.Diary.Day;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Operations;
using School.Web.Tests.Host;
using Xunit;

namespace School.Web.Tests.Demo.Scale;

[UnsupportedOSPlatform("windows")]
public sealed class ScaledSchoolTests(TestPostgres postgres)
{
    private const int Lessons = 2000;
    private static readonly ScaleSize Size = new(Lessons);

    // What is made from the clock and from keys, not by the generator, and what is the password of the demo.
    private const string Tables = """
        SELECT schemaname || '.' || tablename FROM pg_tables
        WHERE schemaname IN ('cars', 'diary', 'messages', 'people', 'pupils', 'records', 'syllabus')
            AND (schemaname, tablename) NOT IN (('syllabus', 'editions'), ('people', 'school'), ('people', 'sessions')) ORDER BY 1
        """;

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Two_thousand_lessons_make_a_school_in_order_with_a_past_and_a_future()
    {
        await using var host = await MadeAsync(SchoolHost.WallDate);
        await using var source = NpgsqlDataSource.Create(host.ConnectionString);
        Assert.Equal(Lessons, await NumberAsync(source, "SELECT count(*) FROM diary.lessons"));
        Assert.Equal(Size.Instructors, await NumberAsync(source, "SELECT count(*) FROM people.instructors WHERE retired_on IS NULL"));
        Assert.Equal(Size.FormerInstructors, await NumberAsync(source, "SELECT count(*) FROM people.instructors WHERE retired_on IS NOT NULL"));
        Assert.Equal(Size.PresentPupils, await NumberAsync(source, "SELECT count(*) FROM pupils.pupils WHERE retired_on IS NULL"));
        Assert.Equal(Size.Courses().Length, await NumberAsync(source, "SELECT count(*) FROM pupils.pupils WHERE retired_on IS NOT NULL"));
        Assert.Equal(0, await NumberAsync(source, "SELECT count(*) FROM (SELECT FROM diary.lessons GROUP BY pupil_id HAVING count(*) NOT BETWEEN 30 AND 60) AS odd"));
        Assert.InRange(
            await NumberAsync(source, "SELECT count(*) FROM diary.lessons WHERE starts_at > now() AND state = 'Booked'"),
            Size.PresentPupils * ScaleSize.AheadEach * 0.9, Size.PresentPupils * ScaleSize.AheadEach);
        Assert.Equal(0, await NumberAsync(source, "SELECT count(*) FROM diary.lessons l LEFT JOIN syllabus.lesson_records r ON r.lesson_id = l.id WHERE (l.state = 'Taught') <> (r.lesson_id IS NOT NULL)"));
        Assert.InRange(await NumberAsync(source, "SELECT count(*) FROM messages.messages"), Lessons * 2.8, Lessons * 3.6);
        foreach (var (what, sql) in new[]
        {
            ("cancelled and charged", "SELECT count(*) FROM diary.lessons WHERE state = 'Cancelled' AND charge_chargeable"),
            ("cancelled free of charge", "SELECT count(*) FROM diary.lessons WHERE state = 'Cancelled' AND NOT charge_chargeable"),
            ("of several kinds", "SELECT count(DISTINCT kind) - 3 FROM diary.lessons"),
            ("with breaks, past", "SELECT count(*) FROM diary.lessons WHERE break_minutes > 0 AND state = 'Taught'"),
            ("with breaks, ahead", "SELECT count(*) FROM diary.lessons WHERE break_minutes > 0 AND starts_at > now()"),
            ("missed", "SELECT count(*) FROM diary.lessons WHERE state = 'Missed'"),
            ("moved", "SELECT count(*) FROM diary.lesson_changes WHERE kind = 'Moved'"),
            ("still to be recorded", "SELECT count(*) FROM diary.lessons WHERE state = 'Booked' AND ends_at < now()"),
            ("passed", "SELECT count(*) FROM diary.test_days WHERE state = 'Passed'"),
            ("tests ahead", "SELECT count(*) FROM diary.test_days WHERE state = 'Booked' AND instructor_id IS NOT NULL AND starts_at > now()"),
            ("mock tests", "SELECT count(*) FROM syllabus.mock_tests WHERE jsonb_array_length(faults) > 0"),
            ("waiting", "SELECT count(*) FROM diary.waiting WHERE state = 'Waiting'"),
            ("times to offer", "SELECT count(*) FROM diary.freed_slots WHERE state = 'Offering'"),
            ("offers", "SELECT count(*) FROM diary.offers"),
            ("levels", "SELECT count(*) FROM syllabus.lesson_records WHERE jsonb_array_length(levels) > 2"),
            ("areas served", "SELECT count(*) FROM people.instructors WHERE cardinality(serves) > 0"),
            ("days on which somebody sat in", "SELECT count(*) FROM diary.supervised_days d JOIN people.instructors i ON i.id = d.instructor_id WHERE i.registration = 'Trainee'"),
            ("shared forecasts", "SELECT count(*) FROM syllabus.shared_forecasts"),
            ("audit", "SELECT count(*) FROM records.audit WHERE what = 'pupil.retire'"),
        })
        {
            Assert.True(await NumberAsync(source, sql) > 0, what);
        }

        await using var said = new StringWriter();
        var exitCode = await CheckCommand.RunAsync(host.Services, host.ServiceConnectionString, said, Cancel);
        Assert.True(exitCode == 0, said.ToString());

        // All lessons ahead can take place but those of one instructor's day away.
        await using var scope = host.Services.CreateAsyncScope();
        scope.ServiceProvider.GetRequiredService<ViewerOverride>().Viewer = Viewer.Service;
        var impossible = await scope.ServiceProvider.GetServices<INeedAttention>().OfType<ImpossibleLessons>().Single().ListAsync(Cancel);
        Assert.InRange(impossible.Count, 1, 4);
        Assert.Single(impossible.Select(item => item.Since).Distinct());
    }

    [Fact]
    public async Task The_same_number_on_the_same_day_gives_the_same_rows_and_a_killed_run_goes_on_to_them()
    {
        // A new school, as the other is: those of the tests have been there for a while.
        await using var host = await SchoolHost.OnAsync(postgres, await postgres.CreateDatabaseAsync());
        await MakeAsync(host, Size, SchoolHost.WallDate);
        await using var killed = new ScaleRun(Lessons);
        Assert.False(await killed.RunAsync(pupils: 1));
        Assert.True(await killed.RunAsync(pupils: int.MaxValue));
        Assert.Contains("part of it is there already", killed.Said, StringComparison.Ordinal);
        var (whole, resumed) = (await SumsAsync(host.ConnectionString), await SumsAsync(killed.Owner));
        Assert.Equal(whole.Keys, resumed.Keys);
        Assert.Empty(whole.Keys.Where(table => whole[table] != resumed[table]).Select(table => $"{table}: {whole[table]}, after it was killed {resumed[table]}"));
    }

    [Fact]
    public async Task What_is_finished_is_left_alone_and_what_is_half_made_is_known()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        Assert.False(await host.WithDbAsync(db => ScaledSchool.IsHalfMadeAsync(db, Cancel)));
        await MakeAsync(host, new(ScaleSize.Least), SchoolHost.WallDate);
        await using var source = NpgsqlDataSource.Create(host.ConnectionString);
        await using (var grant = source.CreateCommand("GRANT USAGE ON SCHEMA demo TO PUBLIC; GRANT SELECT ON ALL TABLES IN SCHEMA demo TO PUBLIC; DELETE FROM pupils.availability"))
        {
            await grant.ExecuteNonQueryAsync(Cancel);
        }

        await MakeAsync(host, new(ScaleSize.Least), SchoolHost.WallDate.PlusDays(3));
        Assert.Equal(ScaleSize.Least, await NumberAsync(source, "SELECT count(*) FROM diary.lessons"));
        Assert.Equal(0, await NumberAsync(source, "SELECT count(*) FROM pupils.availability"));
        Assert.False(await host.WithDbAsync(db => ScaledSchool.IsHalfMadeAsync(db, Cancel)));
        await using (var unfinished = source.CreateCommand("DELETE FROM demo.steps WHERE name = 'finished'"))
        {
            await unfinished.ExecuteNonQueryAsync(Cancel);
        }

        Assert.True(await host.WithDbAsync(db => ScaledSchool.IsHalfMadeAsync(db, Cancel)));
    }

    private async Task<SchoolHost> MadeAsync(LocalDate today)
    {
        var host = await SchoolHost.StartAsync(postgres, wallClock: true);
        await MakeAsync(host, Size, today);
        return host;
    }

    private static Task MakeAsync(SchoolHost host, ScaleSize size, LocalDate today) => new ScaledSchool(host.ConnectionString, size, today, TextWriter.Null).MakeAsync(Cancel);

    private static async Task<long> NumberAsync(NpgsqlDataSource source, string sql)
    {
        await using var command = source.CreateCommand(sql);
        return (long)(await command.ExecuteScalarAsync(Cancel))!;
    }

    private static async Task<SortedDictionary<string, string>> SumsAsync(string connectionString)
    {
        await using var source = NpgsqlDataSource.Create(connectionString);
        var tables = new List<string>();
        await using (var list = source.CreateCommand(Tables))
        await using (var reader = await list.ExecuteReaderAsync(Cancel))
        {
            while (await reader.ReadAsync(Cancel))
            {
                tables.Add(reader.GetString(0));
            }
        }

        var sums = new SortedDictionary<string, string>(StringComparer.Ordinal);
        foreach (var table in tables)
        {
            await using var sum = source.CreateCommand(
                $"SELECT count(*) || ' ' || coalesce(md5(string_agg(md5((to_jsonb(t) - 'password_hash')::text), '' ORDER BY md5((to_jsonb(t) - 'password_hash')::text))), '') FROM {table} AS t");
            sums[table] = (string)(await sum.ExecuteScalarAsync(Cancel))!;
        }

        return sums;
    }
}
