using System.Diagnostics;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using Npgsql;
using School.Core.Diary;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Settings;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.School.Contracts;
using School.Web.Modules.Syllabus;
using School.Web.Platform;
using School.Web.Platform.Database;

namespace School.Web.Demo.Scale;

/// <summary>
/// Fills a migrated, empty database with a school of so many lessons as it stands on a day: the same rows each time. Each step is one
/// transaction that also says that it is done, so a run that was killed goes on where it was.
/// </summary>
/// <param name="owner">Of the role that owns the schema.</param>
/// <param name="size">How many lessons.</param>
/// <param name="today">The day on which the school stands, unless an earlier run began on another.</param>
/// <param name="say">Where to tell how far it is.</param>
internal sealed class ScaledSchool(string owner, ScaleSize size, LocalDate today, TextWriter say)
{
    private const int PupilsOfStep = 50;
    private const string Finished = "finished";

    private const string Tables = """
        CREATE SCHEMA IF NOT EXISTS demo;
        CREATE TABLE IF NOT EXISTS demo.school (day date PRIMARY KEY);
        CREATE TABLE IF NOT EXISTS demo.steps (name text PRIMARY KEY, made_at timestamptz NOT NULL DEFAULT now());
        """;

    // Of what is the owner's: of the rest the server would complain, a line for each.
    private const string Analyze = """
        DO $$ DECLARE one record; BEGIN
            FOR one IN SELECT schemaname, tablename FROM pg_tables WHERE tableowner = current_user LOOP
                EXECUTE format('ANALYZE %I.%I', one.schemaname, one.tablename);
            END LOOP;
        END $$;
        """;

    private static readonly TimeSpan TellEvery = TimeSpan.FromSeconds(15);

    /// <summary>Whether a run began in this database and did not come to its end.</summary>
    public static async Task<bool> IsHalfMadeAsync(SchoolDb db, CancellationToken cancel) =>
        (await db.Database.SqlQueryRaw<bool>("""SELECT to_regclass('demo.steps') IS NOT NULL AS "Value" """).ToListAsync(cancel))[0]
        && (await db.Database.SqlQueryRaw<bool>($"""SELECT NOT EXISTS (SELECT FROM demo.steps WHERE name = '{Finished}') AS "Value" """).ToListAsync(cancel))[0];

    /// <summary>Makes what is still to be made.</summary>
    public async Task MakeAsync(CancellationToken cancel)
    {
        var started = Stopwatch.GetTimestamp();
        await using var db = new SchoolDb((DbContextOptions<SchoolDb>)SchoolDbFactory.Configure(new DbContextOptionsBuilder<SchoolDb>(), owner).Options);
        var connection = (NpgsqlConnection)db.Database.GetDbConnection();
        await connection.OpenAsync(cancel);
        await RunAsync(connection, Tables, cancel);
        var day = await DayAsync(connection, cancel);
        var done = (await db.Database.SqlQueryRaw<string>("""SELECT name AS "Value" FROM demo.steps""").ToListAsync(cancel)).ToHashSet(StringComparer.Ordinal);
        if (done.Contains(Finished))
        {
            return;
        }

        await say.WriteLineAsync($"Making up a school of {size.Lessons} lessons as it stands on {day:uuuu-MM-dd}{(done.Count > 0 ? "; part of it is there already" : "")}.");
        var (write, told) = (new ScaleStep(new(db, connection), connection), Stopwatch.GetTimestamp());
        var steps = (await StepsAsync(db, day, cancel)).Where(step => !done.Contains(step.Name)).ToList();
        var next = Prepare(0);
        for (var n = 0; n < steps.Count; n++)
        {
            // The next step is made up while the server takes this one.
            var rows = await next;
            next = Prepare(n + 1);
            await using var transaction = await connection.BeginTransactionAsync(cancel);
            write.Write(rows);
            await NoteAsync(connection, steps[n].Name, cancel);
            await transaction.CommitAsync(cancel);
            if (Stopwatch.GetElapsedTime(told) > TellEvery)
            {
                told = Stopwatch.GetTimestamp();
                await say.WriteLineAsync($"step {n + 1} of {steps.Count}, {Stopwatch.GetElapsedTime(started).TotalSeconds:0} s");
            }
        }

        await RunAsync(connection, Analyze, cancel);
        await NoteAsync(connection, Finished, cancel);
        await say.WriteLineAsync($"The school of {size.Lessons} lessons is made, {Stopwatch.GetElapsedTime(started).TotalSeconds:0} s.");

        Task<ScaleRows> Prepare(int step) => step < steps.Count ? Task.Run(steps[step].Make, cancel) : Task.FromResult(new ScaleRows());
    }

    private async Task<List<(string Name, Func<ScaleRows> Make)>> StepsAsync(SchoolDb db, LocalDate day, CancellationToken cancel)
    {
        var school = await new SchoolInfo(db, new(), new ReadOnce(db)).GetAsync(cancel);
        var calendar = new ScaleCalendar(day, school.Zone);
        var courses = new ScaleCourses(size, calendar);
        var staff = new ScaleStaff(size, courses, calendar);
        var ground = new ScaleGround(
            calendar, staff, school, (await db.Set<DiarySettings>().AsNoTracking().SingleAsync(cancel)).Rules.Charges(),
            await db.Set<TestDaySettings>().AsNoTracking().SingleAsync(cancel), SyllabusDefaults.GreatBritain());
        return
        [
            ("staff", () => staff.Rows),
            .. Pupils("past", courses.OfPast()),
            .. Pupils("present", courses.OfPresent()),
        ];

        IEnumerable<(string Name, Func<ScaleRows> Make)> Pupils(string name, IEnumerable<Course> all) =>
            all.Chunk(PupilsOfStep).Select((some, n) => ($"{name}-{n}", (Func<ScaleRows>)(() => Make(ground, some))));
    }

    private static ScaleRows Make(ScaleGround ground, Course[] courses)
    {
        var (rows, offers) = (new ScaleRows(), new ScaleOffers());
        foreach (var course in courses)
        {
            new ScalePupil(ground, rows, course).Live(offers);
        }

        return rows;
    }

    /// <summary>What was begun on one day is finished as it stood on that day.</summary>
    private async Task<LocalDate> DayAsync(NpgsqlConnection connection, CancellationToken cancel)
    {
        await using var begin = new NpgsqlCommand("INSERT INTO demo.school (day) SELECT $1 WHERE NOT EXISTS (SELECT FROM demo.school)", connection)
        {
            Parameters = { new() { Value = today } },
        };
        await begin.ExecuteNonQueryAsync(cancel);
        await using var read = new NpgsqlCommand("SELECT day FROM demo.school", connection);
        return (LocalDate)(await read.ExecuteScalarAsync(cancel))!;
    }

    private static async Task NoteAsync(NpgsqlConnection connection, string step, CancellationToken cancel)
    {
        await using var note = new NpgsqlCommand("INSERT INTO demo.steps (name) VALUES ($1)", connection) { Parameters = { new() { Value = step } } };
        await note.ExecuteNonQueryAsync(cancel);
    }

    private static async Task RunAsync(NpgsqlConnection connection, string sql, CancellationToken cancel)
    {
        await using var command = new NpgsqlCommand(sql, connection) { CommandTimeout = 0 };
        await command.ExecuteNonQueryAsync(cancel);
    }
}
