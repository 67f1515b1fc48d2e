using System.Diagnostics;
using System.Globalization;
using System.Runtime.Versioning;
using System.Text;
using System.Text.RegularExpressions;
using Npgsql;
using School.Web.Platform.LocalPostgres;

namespace School.Benchmarks;

/// <summary>
/// PostgreSQL's own pgbench writing the rows of a booking that took place, with another id and another time in each transaction: the
/// locks, then the rows that the service itself sends; what triggers make of them they make again.
/// </summary>
[UnsupportedOSPlatform("windows")]
internal sealed partial class PgbenchBooking
{
    private static readonly string[] ByTrigger = ["diary.occupied", "diary.day_versions", "calendars.feeds"];
    private readonly BookingPlan _plan;
    private readonly string _script;
    private readonly int _clients;
    private int _runs;

    private PgbenchBooking(BookingPlan plan, string script, int clients) => (_plan, _script, _clients) = (plan, script, clients);

    // The id of a transaction's lesson, and its start: two hours after the one before, each client and run in years of its own.
    private const string Id = "md5((:client_id)::text || '-' || (:n)::text)::uuid";
    private const string Start = "('2100-01-01T09:30Z'::timestamptz + make_interval(days => 3000 * (:client_id)::int, hours => 2 * (:n)::int))";

    public static async Task<PgbenchBooking> LikeAsync(BookingPlan plan, Guid lesson, int clients)
    {
        var taught = await plan.ReadAsync(
            $"SELECT DISTINCT ON (instructor_id) instructor_id, pupil_id, car_id FROM diary.lessons WHERE starts_at > now() + interval '100 days' AND id <> '{lesson}' ORDER BY instructor_id, id LIMIT {clients}",
            row => (Instructor: row.GetGuid(0), Pupil: row.GetGuid(1), Car: row.GetGuid(2)));
        var (pupil, instructor, car) = (OneOf(taught.Select(t => t.Pupil)), OneOf(taught.Select(t => t.Instructor)), OneOf(taught.Select(t => t.Car)));
        var script = new StringBuilder("\\set n :n + 1\nBEGIN;\n");
        script.Append(CultureInfo.InvariantCulture, $"""
            SELECT pg_advisory_xact_lock(hashtextextended(name, 0)) FROM unnest(ARRAY['car-day' || {car} || ({Start})::date, 'instructor-day' || {instructor} || ({Start})::date, 'pupil' || {pupil}]) WITH ORDINALITY AS t(name, place) ORDER BY place;

            """);
        foreach (var (table, rows) in (await plan.WrittenWithAsync(lesson)).Where(written => !ByTrigger.Contains(written.Table)))
        {
            foreach (var row in await RowsAsync(plan, table, lesson))
            {
                var values = row.Select(column => (column.Name, column.Value) switch
                {
                    (_, null) => "NULL",
                    ("pupil_id", _) => pupil,
                    ("instructor_id", _) => instructor,
                    ("car_id", _) => car,
                    ("starts_at", _) => Start,
                    ("ends_at", _) => $"({Start} + interval '1 hour')",
                    ("id", var id) when id != $"{lesson}" => "gen_random_uuid()",
                    (_, var value) when value == $"{lesson}" => Id,
                    (_, var value) => $"({string.Join($" || {Id} || ", value.Split($"{lesson}").Select(Literal))})::{column.Type}",
                });
                script.Append(CultureInfo.InvariantCulture, $"INSERT INTO {table} ({string.Join(", ", row.Select(column => $"\"{column.Name}\""))}) VALUES ({string.Join(", ", values)});\n");
            }
        }

        script.Append("COMMIT;\n");
        return new(plan, script.ToString(), clients);
    }

    /// <summary>Transactions a second.</summary>
    public async Task<double> RunAsync(TimeSpan turn)
    {
        var connection = new NpgsqlConnectionStringBuilder(_plan.Owner);
        var file = Path.GetTempFileName();
        await File.WriteAllTextAsync(file, _script);
        var start = new ProcessStartInfo(PostgresBinaries.Find().Program("pgbench"))
        {
            ArgumentList =
            {
                "--no-vacuum", "--protocol=prepared", $"--client={_clients}", "--jobs=1", $"--time={(int)turn.TotalSeconds}", $"--file={file}", $"--define=n={1_000_000 + (10_000 * _runs++)}",
                $"--host={connection.Host}", $"--port={connection.Port}", $"--username={connection.Username}", connection.Database!,
            },
            RedirectStandardOutput = true,
            RedirectStandardError = true,
            Environment = { ["PGPASSWORD"] = connection.Password },
        };
        using var process = Process.Start(start)!;
        var (said, trouble) = (process.StandardOutput.ReadToEndAsync(), process.StandardError.ReadToEndAsync());
        await process.WaitForExitAsync();
        File.Delete(file);
        return process.ExitCode == 0 && Rate().Match(await said) is { Success: true } rate
            ? double.Parse(rate.Groups[1].Value, CultureInfo.InvariantCulture)
            : throw new InvalidOperationException($"pgbench: {await trouble}");
    }

    /// <summary>A lesson that it wrote, within one day as those of the service are.</summary>
    public async Task<Guid> LastAsync() => (await _plan.ReadAsync(
        "SELECT id FROM diary.lessons WHERE (starts_at AT TIME ZONE 'Europe/London')::date = (ends_at AT TIME ZONE 'Europe/London')::date ORDER BY starts_at DESC LIMIT 1",
        row => row.GetGuid(0)))[0];

    private static string OneOf(IEnumerable<Guid> ids) => $"((ARRAY[{string.Join(", ", ids.Select(id => $"'{id}'"))}]::uuid[])[(:client_id)::int + 1])";

    /// <summary>Without a colon, which pgbench would take for the beginning of a variable.</summary>
    private static string Literal(string text) => $"E'{text.Replace("\\", "\\\\", StringComparison.Ordinal).Replace("'", "''", StringComparison.Ordinal).Replace(":", "\\x3a", StringComparison.Ordinal)}'";

    private static async Task<List<List<(string Name, string Type, string? Value)>>> RowsAsync(BookingPlan plan, string table, Guid lesson)
    {
        var columns = await plan.ReadAsync(
            $"SELECT attname::text, format_type(atttypid, atttypmod) FROM pg_attribute WHERE attrelid = '{table}'::regclass AND attnum > 0 AND NOT attisdropped AND attgenerated = '' ORDER BY attnum",
            row => (Name: row.GetString(0), Type: row.GetString(1)));
        return await plan.ReadAsync(
            $"SELECT {string.Join(", ", columns.Select(column => $"\"{column.Name}\"::text"))} FROM {table} WHERE xmin = (SELECT xmin FROM diary.lessons WHERE id = '{lesson}')",
            row => columns.Select((column, place) => (column.Name, column.Type, row.IsDBNull(place) ? null : row.GetString(place))).ToList());
    }

    [GeneratedRegex(@"tps = ([0-9.]+) \(without")]
    private static partial Regex Rate();
}
