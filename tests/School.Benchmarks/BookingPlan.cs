using System.Net;
using System.Net.Http.Json;
using System.Runtime.Versioning;
using NodaTime;
using NodaTime.Text;
using Npgsql;
using School.Web.Platform.LocalPostgres;

namespace School.Benchmarks;

/// <summary>A pupil, their instructor and the car that the two drive.</summary>
internal sealed record TaughtPupil(Guid Pupil, Guid Instructor, Guid Car);

/// <summary>A time that somebody books.</summary>
internal sealed record WantedTime(TaughtPupil Who, Instant Start)
{
    public object Body => new { pupilId = Who.Pupil, instructorId = Who.Instructor, start = InstantPattern.General.Format(Start), minutes = 60 };
}

/// <summary>
/// Times that can all be booked, found by booking one week of them; and what the database says of it. The papers of cars and instructors
/// are made to last, so that the weeks after are alike.
/// </summary>
[UnsupportedOSPlatform("windows")]
internal sealed class BookingPlan : IAsyncDisposable
{
    private const int Weeks = 74;
    private static readonly DateTimeZone London = DateTimeZoneProviders.Tzdb["Europe/London"];
    private static readonly LocalTime[] Times = [new(7, 30), new(9, 30), new(11, 30), new(13, 30), new(15, 30), new(17, 30)];
    private readonly Dictionary<int, int> _next = [];
    private readonly string _folder;
    private List<(TaughtPupil Who, IsoDayOfWeek Day, LocalTime At)> _fitting = [];
    private LocalDate _monday;

    private BookingPlan(string folder, HttpClient office)
    {
        (_folder, Office) = (folder, office);
        Source = NpgsqlDataSource.Create(Owner);
    }

    public HttpClient Office { get; }

    public NpgsqlDataSource Source { get; }

    public string Owner => ClusterFolder.RunningElsewhere(_folder, LocalCluster.OwnerRole, "school")!;

    public int Port => new NpgsqlConnectionStringBuilder(Owner).Port;

    public static async Task<BookingPlan> MakeAsync(DemoService school)
    {
        var plan = new BookingPlan(school.Folder, await school.ApiAsync("office@larkfield.example"));
        await plan.DoAsync("""
            -- Whoever tidies up beside the bookings takes ids of transactions too.
            DO $$ DECLARE t regclass; BEGIN
                FOR t IN SELECT c.oid FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace WHERE c.relkind = 'r' AND n.nspname !~ '^pg_|information_schema' LOOP
                    EXECUTE format('ALTER TABLE %s SET (autovacuum_enabled = false)', t);
                END LOOP;
            END $$;
            """);
        await plan.DoAsync("""
            UPDATE people.instructors SET registered_to = '2099-12-31', daily_teaching_minutes = NULL WHERE retired_on IS NULL;
            UPDATE cars.cars SET insurance_expires = '2099-12-31', mot_expires = '2099-12-31', tax_expires = '2099-12-31', service_due = '2099-12-31' WHERE retired_on IS NULL;
            UPDATE cars.holdings SET "to" = NULL WHERE "to" >= current_date;
            UPDATE diary.working_hours SET "to" = NULL WHERE "to" >= current_date;
            UPDATE pupils.pupils SET weekly_minutes = NULL WHERE retired_on IS NULL;
            """);
        var taught = await plan.ReadAsync(
            """
            SELECT DISTINCT ON (p.usual_instructor_id) p.id, p.usual_instructor_id, c.id
            FROM pupils.pupils p JOIN people.instructors i ON i.id = p.usual_instructor_id AND i.retired_on IS NULL
                JOIN cars.holdings h ON h.instructor_id = i.id AND h."to" IS NULL JOIN cars.cars c ON c.id = h.car_id AND c.gearbox = p.gearbox AND c.retired_on IS NULL
            WHERE p.retired_on IS NULL ORDER BY p.usual_instructor_id, p.id
            """,
            row => new TaughtPupil(row.GetGuid(0), row.GetGuid(1), row.GetGuid(2)));
        await plan.TryAWeekAsync(taught);
        return plan;
    }

    /// <summary>The next time nobody has had, of those of one client among several.</summary>
    public WantedTime Next(int client = 0, int clients = 1)
    {
        // One instructor comes after the other, so those who book at the same moment mostly book with different ones, and have as many times each.
        var all = clients == 1 ? _fitting : [.. _fitting.Where((_, place) => place % clients == client)];
        // Whoever books alone does so in weeks of its own.
        var (first, weeks) = clients == 1 ? (Weeks - 20, 20) : (1, Weeks - 21);
        var place = _next[clients == 1 ? -1 : client] = _next.GetValueOrDefault(clients == 1 ? -1 : client, -1) + 1;
        var (who, day, at) = all[place % all.Count];
        return place / all.Count < weeks
            ? new(who, London.AtLeniently(_monday.PlusWeeks(first + (place / all.Count)).PlusDays((int)day - 1) + at).ToInstant())
            : throw new InvalidOperationException($"More was booked than the {all.Count} times of a week in {weeks} weeks.");
    }

    /// <summary>One time for many pupils of the same gearbox, each contest in a week of its own.</summary>
    public async Task<List<WantedTime>> RivalsAsync(int contest, int rivals)
    {
        var (who, day, at) = _fitting[contest * 7 % _fitting.Count];
        var wanted = new WantedTime(who, London.AtLeniently(_monday.PlusWeeks(Weeks + contest).PlusDays((int)day - 1) + at).ToInstant());
        return await ReadAsync(
            $"""
            SELECT id FROM pupils.pupils WHERE retired_on IS NULL AND gearbox = (SELECT gearbox FROM pupils.pupils WHERE id = '{who.Pupil}') ORDER BY id LIMIT {rivals}
            """,
            row => wanted with { Who = who with { Pupil = row.GetGuid(0) } });
    }

    /// <summary>How many rows of which table the transaction of a lesson wrote, triggers included.</summary>
    public async Task<List<(string Table, long Rows)>> WrittenWithAsync(Guid lesson)
    {
        var tables = await ReadAsync(
            """
            SELECT format('%I.%I', n.nspname, c.relname) FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace
            WHERE c.relkind = 'r' AND n.nspname !~ '^pg_|information_schema|hangfire|demo' ORDER BY 1
            """,
            row => row.GetString(0));
        var counts = string.Join(" UNION ALL ", tables.Select(table => $"SELECT '{table}', count(*) FROM {table} WHERE xmin = (SELECT xmin FROM diary.lessons WHERE id = '{lesson}')"));
        return [.. (await ReadAsync(counts, row => (row.GetString(0), row.GetInt64(1)))).Where(count => count.Item2 > 0)];
    }

    /// <summary>Transactions that ended well, and those that had an id because they wrote.</summary>
    public async Task<(long All, long Writing)> TransactionsAsync() => (await ReadAsync(
        "SELECT (SELECT xact_commit FROM pg_stat_database WHERE datname = 'school'), pg_snapshot_xmax(pg_current_snapshot())::text::bigint",
        row => (row.GetInt64(0), row.GetInt64(1))))[0];

    public async Task<long> DeadlocksAsync() => (await ReadAsync("SELECT deadlocks FROM pg_stat_database WHERE datname = 'school'", row => row.GetInt64(0)))[0];

    /// <summary>The service's way to the database, over another port.</summary>
    public string ThroughAsService(int port) => new NpgsqlConnectionStringBuilder(ClusterFolder.RunningElsewhere(_folder, LocalCluster.ServiceRole, "school")!)
    {
        Port = port,
        SslMode = SslMode.Disable,
        GssEncryptionMode = GssEncryptionMode.Disable,
    }.ConnectionString;

    public async Task<List<T>> ReadAsync<T>(string sql, Func<NpgsqlDataReader, T> of)
    {
        await using var command = Source.CreateCommand(sql);
        await using var reader = await command.ExecuteReaderAsync();
        var all = new List<T>();
        while (await reader.ReadAsync())
        {
            all.Add(of(reader));
        }

        return all;
    }

    public async ValueTask DisposeAsync()
    {
        Office.Dispose();
        await Source.DisposeAsync();
    }

    private async Task DoAsync(string sql)
    {
        await using var command = Source.CreateCommand(sql);
        await command.ExecuteNonQueryAsync();
    }

    private async Task TryAWeekAsync(List<TaughtPupil> taught)
    {
        _monday = Today().PlusDays(120).Next(IsoDayOfWeek.Monday);
        foreach (var who in taught)
        {
            for (var day = IsoDayOfWeek.Monday; day <= IsoDayOfWeek.Friday; day++)
            {
                foreach (var at in Times)
                {
                    var wanted = new WantedTime(who, London.AtLeniently(_monday.PlusDays((int)day - 1) + at).ToInstant());
                    using var answer = await Office.PostAsJsonAsync("/api/v1/lessons", wanted.Body);
                    if (answer.StatusCode == HttpStatusCode.Created)
                    {
                        _fitting.Add((who, day, at));
                    }
                }
            }
        }

        // One instructor after the other, so that those who book at once book with different ones.
        _fitting = [.. _fitting.GroupBy(time => time.Who.Instructor).SelectMany(group => group.Select((time, place) => (time, place))).OrderBy(t => t.place).Select(t => t.time)];
        if (_fitting.Count < 100)
        {
            throw new InvalidOperationException($"Only {_fitting.Count} times of a week can be booked.");
        }
    }

#pragma warning disable RS0030 // The demo is dated relative to the real today.
    private static LocalDate Today() => SystemClock.Instance.GetCurrentInstant().InUtc().Date;
#pragma warning restore RS0030
}
