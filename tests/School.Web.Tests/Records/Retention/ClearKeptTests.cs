using System.Globalization;
using System.Net;
using System.Runtime.Versioning;
using System.Text.Json;
using CsCheck;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using Npgsql;
using School.Tests;
using School.Web.Modules.Messages;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.Records.Retention;
using School.Web.Platform.Api;
using School.Web.Platform.Operations;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;
using School.Web.Tests.Messages;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Records.Retention;

/// <summary>What is kept for a time goes when its time has come, and nothing else does.</summary>
[UnsupportedOSPlatform("windows")]
public sealed class ClearKeptTests(TestPostgres postgres)
{
    private const string Kinds = "/api/v1/retention/kinds";

    /// <summary>Seconds by which something is older than its time (negative: younger), the very moment and those beside it among them.</summary>
    private static readonly Gen<int[]> Ages = Gen.OneOf(Gen.Int[-400_000, 400_000], Gen.Int[-1, 1]).Array[1, 5];

    [Fact]
    public async Task Each_rule_takes_what_is_due_and_nothing_younger_and_as_many_as_were_told_before()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var rules = host.Services.GetServices<RetentionRule>().ToList();
        var rows = await OldRows.OnAsync(host);
        Assert.Equal(rules.Select(rule => rule.Code).Order(StringComparer.Ordinal), rows.Makers.Keys.Order(StringComparer.Ordinal));
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var now = host.Clock.GetCurrentInstant();
        await rows.AddWhatStaysAsync(Instant.FromUtc(2010, 1, 1, 0, 0));

        await Ages.Array[rules.Count].SampleAsync(
            async ages =>
            {
                var expected = new List<(string Code, int Due, List<Instant> Stays)>();
                foreach (var (rule, seconds) in rules.Zip(ages))
                {
                    var since = seconds.Distinct().Select(age => now - Duration.FromDays(rule.Days) - Duration.FromSeconds(age)).ToList();
                    foreach (var moment in since)
                    {
                        await rows.Makers[rule.Code](moment);
                    }

                    expected.Add((rule.Code, seconds.Distinct().Count(age => age >= 0), [.. since.Where((_, n) => seconds.Distinct().ElementAt(n) < 0)]));
                }

                var told = (await office.GetJsonAsync(Kinds)).GetProperty("kinds").EnumerateArray().ToDictionary(kind => kind.GetProperty("code").GetString()!);
                var standing = await StandingAsync(host, rules);
                await RunAsync(host);
                var after = await StandingAsync(host, rules);
                foreach (var (rule, (code, due, stays)) in rules.Zip(expected))
                {
                    Assert.True(told[code].GetProperty("dueNow").GetInt64() == due, $"{code}: {told[code]} but {due} are due");
                    Assert.True(standing[code].Count - after[code].Count == due, $"{code}: {standing[code].Count} before, {after[code].Count} after, {due} due");
                    Assert.Subset(after[code].ToHashSet(), stays.ToHashSet());
                    Assert.DoesNotContain(after[code], moment => moment <= now - Duration.FromDays(rule.Days) && moment.InUtc().Year > 2010);
                }
            },
            iter: 3, threads: 1);
    }

    [Fact]
    public async Task What_may_be_argued_about_stays_for_six_years_and_a_half_and_the_database_is_in_order_at_every_age()
    {
        await using var server = new SmtpListener();
        await using var school = await SmallSchool.StartAsync(postgres);
        var host = school.Host;
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 5, 10))).Id();
        using (await school.Office.SendAsync(HttpMethod.Post, $"/api/v1/lessons/{id}/cancel", new { reason = "pupil" }))
        {
        }

        await Post.RunAsync(host, Post.To(server));
        var went = await host.WithDbAsync(db => db.Set<Message>().AsNoTracking().Where(m => m.AboutId == id).ToListAsync());
        Assert.Contains(went, m => m is { Proof: true, Kind: "lesson_booked" });
        Assert.Contains(went, m => m is { Proof: true, Kind: "lesson_cancelled" });
        Assert.Contains(went, m => !m.Proof);
        foreach (var (days, proofs, others) in new[] { (182, 2, went.Count - 2), (184, 2, 0), (6 * 365 + 2, 2, 0), (2_374, 2, 0), (2_376, 0, 0) })
        {
            host.Clock.Reset(went.Max(m => m.ClosedAt!.Value) + Duration.FromDays(days));
            await RunAsync(host);
            var left = await host.WithDbAsync(db => db.Set<Message>().AsNoTracking().Where(m => m.AboutId == id).ToListAsync());
            Assert.Equal((days, proofs, others), (days, left.Count(m => m.Proof), left.Count(m => !m.Proof)));
            await using var said = new StringWriter();
            Assert.True(await CheckCommand.RunAsync(host.Services, host.ServiceConnectionString, said, default) == 0, $"after {days} days: {said}");
        }

        Assert.Equal(3, await host.WithDbAsync(db => db.Database.SqlQuery<int>($"SELECT count(*)::int AS \"Value\" FROM diary.lessons l JOIN diary.lesson_changes c ON c.lesson_id = l.id WHERE l.id = {id}").SingleAsync()) + 1);
    }

    [Fact]
    public async Task A_kept_school_that_was_cleared_is_still_in_order()
    {
        await using var clock = await SchoolHost.StartAsync(postgres);
        await using var host = clock.NodeOn(await KeptBackups.SchoolAsync(postgres));
        var last = await host.WithDbAsync(db => db.Set<Message>().MaxAsync(m => m.WrittenAt));
        foreach (var days in new[] { 200, 800, 2_500 })
        {
            clock.Clock.Reset(last + Duration.FromDays(days));
            await RunAsync(host);
            await using var said = new StringWriter();
            Assert.True(await CheckCommand.RunAsync(host.Services, host.ServiceConnectionString, said, default) == 0, $"after {days} days: {said}");
        }

        var left = await host.WithDbAsync(db => db.Set<Message>().Where(m => m.ClosedAt != null).Select(m => new { m.Kind, m.Proof, m.ClosedAt, m.State }).ToListAsync());
        Assert.True(left.Count == 0, string.Join(", ", left.Take(5)));
        Assert.True(await CountAsync(host, "SELECT count(*) FROM diary.lessons WHERE state <> 'Cancelled'") > 0);
        Assert.Equal(0, await CountAsync(host, "SELECT count(*) FROM diary.occupied"));
    }

    [Fact]
    public async Task A_run_that_is_killed_leaves_whole_steps_and_the_next_goes_on_and_tells_of_both()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var all = (2 * ClearKept.RowsOfStep) + 7;
        await AttemptsAsync(host, all);
        // Dies in its second step, after it deleted and before it said so.
        await SqlAsync(host, """
            CREATE FUNCTION public.die() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RAISE EXCEPTION 'killed'; END $$;
            CREATE TRIGGER die BEFORE UPDATE ON records.retention_marks FOR EACH ROW WHEN (NEW.not_told > 1000) EXECUTE FUNCTION public.die();
            """);
        await Assert.ThrowsAnyAsync<Exception>(() => RunAsync(host));
        Assert.Equal(all - ClearKept.RowsOfStep, await CountAsync(host, "SELECT count(*) FROM platform.attempt_counts WHERE key LIKE 'old %'"));
        Assert.Empty(await LinesAsync(host));

        await SqlAsync(host, "DROP TRIGGER die ON records.retention_marks; DROP FUNCTION public.die();");
        await RunAsync(host);
        Assert.Equal(0, await CountAsync(host, "SELECT count(*) FROM platform.attempt_counts WHERE key LIKE 'old %'"));
        Assert.Equal([$"Cleared what was kept long enough: attempts {all.ToString(CultureInfo.InvariantCulture)}."], await LinesAsync(host));
        await RunAsync(host);
        Assert.Single(await LinesAsync(host));
    }

    [Fact]
    public async Task It_waits_for_nobody_and_takes_next_time_what_somebody_holds()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await AttemptsAsync(host, 3);
        await using (var source = NpgsqlDataSource.Create(host.ConnectionString))
        {
            await using var connection = await source.OpenConnectionAsync();
            await using var transaction = await connection.BeginTransactionAsync();
            await using (var hold = new NpgsqlCommand("SELECT FROM platform.attempt_counts WHERE key = 'old 2' FOR UPDATE", connection, transaction))
            {
                await hold.ExecuteNonQueryAsync();
            }

            await RunAsync(host).WaitAsync(TimeSpan.FromSeconds(30));
            Assert.Equal(1, await CountAsync(host, "SELECT count(*) FROM platform.attempt_counts WHERE key LIKE 'old %'"));
        }

        await RunAsync(host);
        Assert.Equal(0, await CountAsync(host, "SELECT count(*) FROM platform.attempt_counts WHERE key LIKE 'old %'"));
    }

    [Fact]
    public async Task A_key_that_is_used_again_within_its_time_is_answered_the_same_whatever_was_cleared()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var (key, given) = (Guid.NewGuid().ToString(), host.Clock.GetCurrentInstant());
        var first = await FeedAsync();
        host.Clock.Reset(given + Duration.FromDays(2) - Duration.FromSeconds(1));
        await RunAsync(host);
        Assert.Equal(first, await FeedAsync());
        Assert.Equal(1, await CountAsync(host, "SELECT count(*) FROM calendars.feeds"));

        host.Clock.Reset(given + Duration.FromDays(2) + Duration.FromSeconds(1));
        await RunAsync(host);
        Assert.NotEqual(first, await FeedAsync());
        Assert.Equal(2, await CountAsync(host, "SELECT count(*) FROM calendars.feeds"));

        async Task<string> FeedAsync()
        {
            using var answer = await office.SendAsync(HttpMethod.Post, "/api/v1/feeds", new { pupilId = pupil.Id, detail = "busy" }, (Idempotency.Header, key));
            Assert.Equal(HttpStatusCode.Created, answer.StatusCode);
            return await answer.Content.ReadAsStringAsync();
        }
    }

    [Fact]
    public async Task Every_rule_finds_what_is_due_by_an_index()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await using var source = NpgsqlDataSource.Create(host.ConnectionString);
        await using var connection = await source.OpenConnectionAsync();
        // An empty table is read as a whole otherwise, whatever indexes it has.
        await using (var set = new NpgsqlCommand("SET enable_seqscan = off; SET enable_sort = off", connection))
        {
            await set.ExecuteNonQueryAsync();
        }

        foreach (var rule in host.Services.GetServices<RetentionRule>())
        {
            await using var explain = new NpgsqlCommand($"EXPLAIN (FORMAT JSON) {RetentionSql.Next(rule, "r.ctid", 10).Replace("{0}", "now()", StringComparison.Ordinal)}", connection);
            var plan = (string)(await explain.ExecuteScalarAsync())!;
            Assert.True(plan.Contains("\"Index Cond\"", StringComparison.Ordinal) && !plan.Contains("\"Sort\"", StringComparison.Ordinal), $"{rule.Code}: {plan}");
        }
    }

    internal static async Task RunAsync(SchoolHost host)
    {
        await using var scope = host.Services.CreateAsyncScope();
        await scope.ServiceProvider.GetRequiredService<ClearKept>().RunAsync(CancellationToken.None);
    }

    /// <summary>The moments from which the rows of each rule count.</summary>
    private static async Task<Dictionary<string, List<Instant>>> StandingAsync(SchoolHost host, IEnumerable<RetentionRule> rules)
    {
        var standing = new Dictionary<string, List<Instant>>(StringComparer.Ordinal);
        foreach (var rule in rules)
        {
            var all = $"SELECT {rule.Since} AS \"Value\" FROM {rule.Table} r WHERE {rule.Of}";
            standing[rule.Code] = await host.WithDbAsync(db => db.Database.SqlQueryRaw<Instant>(all).ToListAsync());
        }

        return standing;
    }

    private static async Task AttemptsAsync(SchoolHost host, int count) => await SqlAsync(host, FormattableString.Invariant(
        $"INSERT INTO platform.attempt_counts (key, window_start, count) SELECT 'old ' || n, '2020-01-01'::timestamptz + n * interval '1 second', 1 FROM generate_series(1, {count}) n"));

    private static async Task<List<string>> LinesAsync(SchoolHost host) =>
        await host.WithDbAsync(db => db.Set<Modules.Records.AuditEntry>().Where(entry => entry.What == "retention.clear").OrderBy(entry => entry.Id).Select(entry => entry.Words).ToListAsync());

    private static async Task SqlAsync(SchoolHost host, string sql)
    {
        await using var source = NpgsqlDataSource.Create(host.ConnectionString);
        await using var command = source.CreateCommand(sql);
        await command.ExecuteNonQueryAsync();
    }

    private static async Task<long> CountAsync(SchoolHost host, string sql)
    {
        await using var source = NpgsqlDataSource.Create(host.ConnectionString);
        await using var command = source.CreateCommand(sql);
        return (long)(await command.ExecuteScalarAsync())!;
    }
}
