using Npgsql;
using School.Tests;
using School.Web.Demo.Scale;
using School.Web.Platform.Access;
using School.Web.Tests.Calendars;
using School.Web.Tests.Host;

namespace School.Web.Tests.Platform.Database;

/// <summary>What a page reads is bounded by what it shows, whatever the age of the school: ten rows for each that a statement gives, and no more than a page’s fill once it was looked at.</summary>
public sealed class RowsReadTests(TestPostgres postgres)
{
    private const int Lessons = 20_000;
    private const int MostForEach = 10;

    // So few cost nothing: settings, hours, cars, instructors have no more.
    private const int Few = 200;

    // For what was looked at before, and shown as a page: a week of the whole school, a season of one instructor.
    private const int MostAgain = 1500;

    // What may read more, by a part of its text, each with the reason.
    private static readonly (string Part, string Reason)[] Exceptions =
    [
        ("FROM diary.day_versions", "one sum for each day ahead, of the counts of those who have something on it"),
        ("SELECT DISTINCT l.pupil_id", "whom an instructor taught, of eight weeks of lessons"),
        ("pg_total_relation_size", "the database’s own list of its tables, which no school lengthens"),
        ("count(*)", "a number is one row; what it counts is on the page"),
    ];

    private const string OldTests = """
        DO $$ DECLARE named text; taken text; BEGIN
            SELECT string_agg(quote_ident(column_name), ', '), string_agg(CASE column_name
                WHEN 'id' THEN 'gen_random_uuid()' WHEN 'state' THEN quote_literal('TakenOff')
                WHEN 'starts_at' THEN 'starts_at - gap' WHEN 'ends_at' THEN 'ends_at - gap' WHEN 'blocked_from' THEN 'blocked_from - gap' WHEN 'blocked_until' THEN 'blocked_until - gap'
                ELSE quote_ident(column_name) END, ', ')
            INTO named, taken FROM information_schema.columns WHERE table_schema = 'diary' AND table_name = 'test_days' AND is_generated = 'NEVER';
            EXECUTE format('INSERT INTO diary.test_days (%s) SELECT %s FROM diary.test_days, (SELECT n * interval %L AS gap FROM generate_series(1, 5) AS n) AS gaps', named, taken, '4000 days');
        END $$
        """;

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task No_page_reads_more_than_ten_rows_for_each_that_it_is_given()
    {
        await using var host = await SchoolHost.StartAsync(postgres, wallClock: true);
        using var statements = new Statements(host);
        await new ScaledSchool(host.ConnectionString, new(Lessons), SchoolHost.WallDate, TextWriter.Null).MakeAsync(Cancel);
        var builder = new NpgsqlDataSourceBuilder(host.ConnectionString);
        builder.UseNodaTime();
        await using var source = builder.Build();
        // Tests are few beside lessons: so many more, of another age, that reading all of them for a day is seen.
        await using (var old = source.CreateCommand(OldTests))
        {
            await old.ExecuteNonQueryAsync(Cancel);
        }

        await using (var analyze = source.CreateCommand("ANALYZE"))
        {
            await analyze.ExecuteNonQueryAsync(Cancel);
        }

        var instructor = await IdAsync(source, "SELECT usual_instructor_id FROM pupils.pupils WHERE retired_on IS NULL GROUP BY 1 ORDER BY count(*) DESC LIMIT 1");
        var pupil = await IdAsync(source, $"SELECT id FROM pupils.pupils WHERE retired_on IS NULL AND usual_instructor_id = '{instructor}' ORDER BY id LIMIT 1");
        var office = await host.Data.OfficeAsync();
        using var pages = await host.PagesAsAsync(office);
        using var api = await host.ApiAsAsync(office);
        var feed = await api.FeedAsync(new { instructorId = instructor, detail = "full" });
        var faults = new List<string>();
        string[] addresses =
        [
            "/diary/attention", $"/syllabus/overview?instructor={instructor}", $"/syllabus/readiness/{pupil}", "/syllabus/backtest",
            $"/diary/hours?instructorId={instructor}", $"/diary/day?instructorId={instructor}", "/diary/board", $"/diary/week?instructorId={instructor}", "/pupils",
            $"/pupils/{pupil}", "/messages", "/records/audit", $"/syllabus/progress/{pupil}", $"/syllabus/progress/{pupil}/record", "/diary/waiting", "/cars", "/people/instructors",
            $"/api/v1/instructors/{instructor}/learning", $"/api/v1/lessons?instructorId={instructor}&from={SchoolHost.WallDate:uuuu-MM-dd}&to={SchoolHost.WallDate.PlusDays(7):uuuu-MM-dd}",
            "/api/v1/attention", feed,
        ];
        var swept = from route in await SweptRoute.AllAsync(host.Services)
                    where route.Method == "GET" && !route.HasId && !route.Streams && route.Allows(Hat.Office) && (route.IsPage || route.Url().StartsWith("/api", StringComparison.Ordinal))
                    select route.Url();
        foreach (var address in addresses.Union(swept))
        {
            foreach (var most in (long[])[long.MaxValue, MostAgain])
            {
                statements.Take();
                using var answer = await (address.StartsWith("/api", StringComparison.Ordinal) ? api : pages).GetAsync(address, Cancel);
                // One that wants to be told more than its address says so at once.
                Assert.True((int)answer.StatusCode < (addresses.Contains(address) ? 400 : 500), $"{address}: {(int)answer.StatusCode}");
                foreach (var asked in statements.TakeAsked().Where(asked => asked.Text.StartsWith("SELECT", StringComparison.Ordinal)))
                {
                    var rows = await RowsRead.OfAsync(source, asked);
                    if (rows.Read > Math.Min(most, Math.Max(Few, MostForEach * rows.Given)) && !Exceptions.Any(exception => asked.Text.Contains(exception.Part, StringComparison.Ordinal)))
                    {
                        faults.Add($"{address}: {rows.Read} rows read for {rows.Given} in\n{asked.Text}");
                    }
                }
            }
        }

        Assert.True(faults.Count == 0, string.Join("\n\n", faults));
    }

    private static async Task<Guid> IdAsync(NpgsqlDataSource source, string sql)
    {
        await using var command = source.CreateCommand(sql);
        return (Guid)(await command.ExecuteScalarAsync(Cancel))!;
    }
}
