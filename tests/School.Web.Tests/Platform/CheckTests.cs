using System.Net;
using System.Runtime.Versioning;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using Npgsql;
using School.Tests;
using School.Web.Platform.LocalPostgres;
using School.Web.Platform.Operations;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;

namespace School.Web.Tests.Platform;

/// <summary>Each invariant holds of a whole school, and says so when it does not.</summary>
[UnsupportedOSPlatform("windows")]
public sealed class CheckTests(TestPostgres postgres)
{
    [Fact]
    public async Task A_school_made_by_the_verbs_holds_them_all_and_something_was_looked_at_for_each()
    {
        await using var host = await SchoolHost.OfKeptSchoolAsync(postgres);
        await host.KeepMoneyAsync();
        var (exitCode, lines) = await CheckAsync(host);
        Assert.True(exitCode == 0, string.Join('\n', lines));
        Assert.All(lines, line => Assert.Matches("^holds  [a-z_]+: .+; [0-9]+ looked at$", line));
        string[] maybeNone = ["second_steps_open", "offers_have_letters"];
        Assert.DoesNotContain(lines, line => line.EndsWith("; 0 looked at", StringComparison.Ordinal) && !maybeNone.Any(code => line.Contains(code, StringComparison.Ordinal)));
    }

    /// <summary>Every way in which somebody could spoil a database by hand, and the line that tells of it.</summary>
    public static TheoryData<string, string, string> Spoilt => new()
    {
        { "occupied_time", "DELETE FROM diary.occupied WHERE entry_id = (SELECT min(entry_id::text)::uuid FROM diary.occupied)", "not so for 1 of [0-9]+: (lesson|test) [0-9a-f-]{36}$" },
        { "occupied_time", "UPDATE diary.occupied SET during = tstzrange(lower(during), upper(during) - interval '1 minute') WHERE kind = 'test'", "test [0-9a-f-]{36}" },
        {
            "occupied_time",
            "INSERT INTO diary.occupied SELECT gen_random_uuid(), 'lesson', NULL, NULL, gen_random_uuid(), tstzrange('2030-01-01', '2030-01-02')",
            "not so for 1 of [0-9]+: lesson [0-9a-f-]{36}$"
        },
        {
            "taken_once",
            """
            ALTER TABLE diary.lessons DISABLE TRIGGER lessons_occupy;
            UPDATE diary.lessons l SET starts_at = o.starts_at, ends_at = o.ends_at FROM diary.lessons o
            WHERE l.id = (SELECT id FROM diary.lessons WHERE state = 'Booked' ORDER BY starts_at LIMIT 1)
                AND o.id = (SELECT id FROM diary.lessons WHERE state = 'Booked' AND instructor_id = (
                    SELECT instructor_id FROM diary.lessons WHERE state = 'Booked' ORDER BY starts_at LIMIT 1) ORDER BY starts_at DESC LIMIT 1)
            """,
            "not so for 1 of [0-9]+: lesson [0-9a-f-]{36}$"
        },
        { "served_areas", "UPDATE people.instructors SET serves = ARRAY[gen_random_uuid()] WHERE id = (SELECT min(id::text)::uuid FROM people.instructors)", "instructor [0-9a-f-]{36} serves [0-9a-f-]{36}$" },
        { "day_versions", "DELETE FROM diary.day_versions WHERE day = (SELECT max(day) FROM diary.day_versions)", "[0-9]{4}-[0-9]{2}-[0-9]{2} of [0-9a-f-]{36}" },
        { "day_versions", "UPDATE diary.day_versions SET version = 0 WHERE day = (SELECT max(day) FROM diary.day_versions)", "[0-9]{4}-[0-9]{2}-[0-9]{2} of [0-9a-f-]{36}" },
        { "day_versions", "DELETE FROM diary.day_versions WHERE day = '2000-01-01'", ": the whole school$" },
        { "guards_on", "ALTER TABLE records.audit DISABLE TRIGGER audit_only_added", "not so for 1 of [0-9]+: trigger audit_only_added on records.audit$" },
        {
            "guards_on",
            "ALTER TABLE diary.lessons DROP CONSTRAINT lessons_car_fk, ADD CONSTRAINT lessons_car_fk FOREIGN KEY (car_id) REFERENCES cars.cars (id) NOT VALID",
            "not so for 1 of [0-9]+: constraint lessons_car_fk on diary.lessons$"
        },
        { "keys_open", """UPDATE platform.data_protection_keys SET xml = regexp_replace(xml, '<wrapped by="[0-9a-f]+"', '<wrapped by="000000000000"')""", "not so for 1 of 1: key-[0-9a-f-]{36}$" },
        { "sealing_keys_open", "UPDATE platform.sealing_keys SET key = set_byte(key, 0, (get_byte(key, 0) + 1) % 256)", "not so for 1 of 1: key [0-9a-f-]{36}$" },
        { "guarded_columns_open", "UPDATE platform.sealing_keys SET key = set_byte(key, 0, (get_byte(key, 0) + 1) % 256)", ": (driver number|health note) of pupil [0-9a-f-]{36}" },
        {
            "guarded_columns_open",
            "UPDATE pupils.pupils SET health_notes_sealed = reverse(health_notes_sealed) WHERE id = (SELECT min(id::text)::uuid FROM pupils.pupils WHERE health_notes_sealed IS NOT NULL)",
            "not so for 1 of [0-9]+: health note of pupil [0-9a-f-]{36}$"
        },
        {
            "second_steps_open",
            """INSERT INTO people.person_tokens (user_id, login_provider, name, value) SELECT id, '[AspNetUserStore]', 'AuthenticatorKey', 'x' FROM people.people WHERE parts <> 0""",
            "not so for 1 of 1: person [0-9a-f-]{36}$"
        },
        { "copies_are_allowed", "UPDATE pupils.pupils SET letters_to = ARRAY[id]", "not so for [0-9]+ of [0-9]+: contact [0-9a-f-]{36} of pupil [0-9a-f-]{36}" },
        {
            "letters_have_causes",
            "UPDATE messages.messages SET about_id = gen_random_uuid() WHERE id = (SELECT min(id::text)::uuid FROM messages.messages WHERE kind = 'lesson_booked')",
            "not so for 1 of [0-9]+: lesson_booked [0-9a-f-]{36}$"
        },
        {
            "letters_have_causes",
            "UPDATE messages.messages SET kind = 'lesson_cancelled' WHERE id = (SELECT min(id::text)::uuid FROM messages.messages WHERE kind = 'lesson_booked')",
            "not so for 1 of [0-9]+: lesson_cancelled [0-9a-f-]{36}$"
        },
        {
            "letters_have_causes",
            "UPDATE messages.messages SET kind = 'of_nobody' WHERE id = (SELECT min(id::text)::uuid FROM messages.messages)",
            "not so for 1 of [0-9]+: of_nobody [0-9a-f-]{36}$"
        },
        { "letters_have_causes", "DELETE FROM people.people WHERE parts <> 0", "invitation [0-9a-f-]{36}" },
        {
            "lesson_changes_have_letters",
            "DELETE FROM messages.messages WHERE id = (SELECT min(id::text)::uuid FROM messages.messages WHERE kind = 'lesson_cancelled' AND key LIKE '%:pupil')",
            "not so for 1 of [0-9]+: lesson_cancelled of lesson [0-9a-f-]{36}$"
        },
        {
            "offers_have_letters",
            """
            INSERT INTO diary.freed_slots SELECT gen_random_uuid(), id, '2030-01-01', '2030-01-02', '2029-12-01', gen_random_uuid(), 'Over' FROM people.instructors LIMIT 1;
            INSERT INTO diary.waiting (id, pupil_id, "for", since, state, version) SELECT gen_random_uuid(), id, 'EarlierLesson', '2029-12-01', 'Left', 1 FROM pupils.pupils LIMIT 1;
            INSERT INTO diary.offers (id, freed_id, waiting_id, pupil_id, instructor_id, starts_at, minutes, offered_at, held_until, state, secret_hash)
            SELECT gen_random_uuid(), f.id, w.id, w.pupil_id, f.instructor_id, f.starts_at, 60, f.freed_at, f.starts_at, 'Lapsed', '' FROM diary.freed_slots f, diary.waiting w LIMIT 1
            """,
            "not so for 1 of 1: offer [0-9a-f-]{36}$"
        },
        { "swaps_agreed", $"{AppliedSwap.Replace("'Applied'", "'Stopped'", StringComparison.Ordinal)}, true FROM diary.lessons l, diary.proposals p WHERE p.asked_at = '2029-12-01' LIMIT 1", "not so for 1 of [0-9]+: swap [0-9a-f-]{36}$" },
        { "entries_balance", $"{Money} UPDATE accounts.lines SET pence = pence + 1 WHERE id = (SELECT min(id) FROM accounts.lines)", "not so for 1 of 5: entry [0-9a-f-]{36}$" },
        { "entries_balance", $"{Money} DELETE FROM accounts.lines WHERE entry_id = (SELECT id FROM accounts.entries WHERE kind = 'Payment')", "not so for 1 of 5: entry [0-9a-f-]{36}$" },
        { "lessons_posted_once", $"{Money} DELETE FROM accounts.entries WHERE kind = 'Reversal'", "not so for 1 of 1: lesson [0-9a-f-]{36}$" },
        { "blocks_hold", $"{Money} UPDATE accounts.blocks SET minutes = 30; UPDATE accounts.lines SET minutes = 15 WHERE minutes = 45", "not so for 1 of 1: block [0-9a-f-]{36}$" },
        { "blocks_hold", $"{Money} UPDATE accounts.lines SET minutes = 60 WHERE minutes = 45", "not so for 1 of 1: block [0-9a-f-]{36}$" },
        { "receipts_without_gaps", $"{Money} UPDATE accounts.payments SET number = 2", "not so for 1 of 1: receipt 2$" },
        { "receipts_without_gaps", $"{Money} UPDATE accounts.entries SET payment_id = NULL", "not so for 1 of 1: receipt 1$" },
        { "swaps_agreed", $"{AppliedSwap}, false FROM diary.lessons l, diary.proposals p WHERE p.asked_at = '2029-12-01' LIMIT 1", "not so for 1 of [0-9]+: swap [0-9a-f-]{36}$" },
    };

    /// <summary>An hour sold, paid for, taught, undone and taught for three quarters of it; the guards are off from then on.</summary>
    private const string Money = """
        ALTER TABLE accounts.entries DISABLE TRIGGER USER;
        ALTER TABLE accounts.lines DISABLE TRIGGER USER;
        ALTER TABLE accounts.blocks DISABLE TRIGGER USER;
        ALTER TABLE accounts.payments DISABLE TRIGGER USER;
        INSERT INTO accounts.books (id, currency, opened_on, refund_rule, version) VALUES ('00000000-0000-0000-0000-0000000000b0', 'GBP', '2026-01-01', 'ProRata', 1);
        INSERT INTO accounts.blocks (id, book_id, pupil_id, sold_on, minutes, pence, refund_rule, asked_to_begin, from_before, sold_at)
        SELECT '00000000-0000-0000-0000-0000000000b1', '00000000-0000-0000-0000-0000000000b0', min(id::text)::uuid, '2026-01-02', 60, 3600, 'ProRata', true, false, '2026-01-02' FROM pupils.pupils;
        INSERT INTO accounts.payments (id, book_id, number, pupil_id, pence, method, paid_on, reference, at, taken_by)
        SELECT '00000000-0000-0000-0000-0000000000b2', book_id, 1, pupil_id, 3600, 'Card', '2026-01-02', '', '2026-01-02', '' FROM accounts.blocks;
        INSERT INTO accounts.entries (id, book_id, "on", at, kind, posted_by, pupil_id, lesson_id, turn, payment_id, reverses_id, reason)
        SELECT ('00000000-0000-0000-0000-00000000000' || n)::uuid, b.book_id, '2026-01-02', '2026-01-02', (ARRAY['BlockSold', 'Payment', 'Lesson', 'Reversal', 'Lesson'])[n], b.id, b.pupil_id,
            CASE WHEN n > 2 THEN b.id END, n, CASE WHEN n = 2 THEN '00000000-0000-0000-0000-0000000000b2'::uuid END, CASE WHEN n = 4 THEN '00000000-0000-0000-0000-000000000003'::uuid END, ''
        FROM accounts.blocks b, generate_series(1, 5) AS n;
        INSERT INTO accounts.lines (entry_id, account, pence, pupil_id, block_id, minutes)
        SELECT ('00000000-0000-0000-0000-00000000000' || n)::uuid, l.account, l.pence, b.pupil_id, CASE WHEN l.minutes <> 0 THEN b.id END, l.minutes
        FROM accounts.blocks b, (VALUES (1, 'Receivable', 3600, 0), (1, 'Prepaid', -3600, -60), (2, 'Card', 3600, 0), (2, 'Receivable', -3600, 0),
            (3, 'Prepaid', 3600, 60), (3, 'LessonIncome', -3600, 0), (4, 'Prepaid', -3600, -60), (4, 'LessonIncome', 3600, 0), (5, 'Prepaid', 2700, 45), (5, 'LessonIncome', -2700, 0)) AS l (n, account, pence, minutes);
        """;

    /// <summary>Carried out with the yes of one pupil alone.</summary>
    private const string AppliedSwap = """
        INSERT INTO diary.proposals (id, kind, ask, asked_by, asked_at, state, done, of, lines, seen, version)
        VALUES (gen_random_uuid(), 'Swap', '{}', gen_random_uuid(), '2029-12-01', 'Applied', 0, 0, '[]', '', 1);
        INSERT INTO diary.swap_answers (proposal_id, lesson_id, pupil_id, lapses_at, secret_hash, reply, how, answered_at, by_name, open)
        SELECT p.id, l.id, l.pupil_id, '2030-01-01', '', 'Agreed', 'Pupil', '2029-12-01', ''
        """;

    [Theory]
    [MemberData(nameof(Spoilt))]
    public async Task What_is_broken_is_told_with_how_many_and_which(string code, string spoil, string tells)
    {
        await using var host = await SchoolHost.OfKeptSchoolAsync(postgres, spoil, ofItsOwn: spoil.Contains("platform.", StringComparison.Ordinal));
        var (exitCode, lines) = await CheckAsync(host);
        Assert.Equal(1, exitCode);
        var line = Assert.Single(lines, line => line.Contains($" {code}: ", StringComparison.Ordinal));
        Assert.StartsWith("broken ", line, StringComparison.Ordinal);
        Assert.Matches(tells, line);
    }

    [Fact]
    public async Task One_letter_about_weekly_lessons_serves_them_all()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var starts = Enumerable.Range(0, 3).Select(week => DiaryApi.London(2026, 3, 5, 10) + Duration.FromDays(7 * week)).ToList();
        var booked = await (await school.Office.SendJsonAsync(HttpMethod.Post, "/api/v1/weekly-lessons", new
        {
            pupilId = school.PupilId,
            instructorId = school.InstructorId,
            starts = starts.Select(DiaryApi.Text),
            minutes = 60,
        })).JsonAsync(HttpStatusCode.Created);
        var first = booked.GetProperty("items")[0].Id();
        await (await school.Office.SendJsonAsync(HttpMethod.Post, $"/api/v1/lessons/{first}/following/move", new { start = DiaryApi.Text(starts[0] + Duration.FromHours(2)) })).JsonAsync();
        school.Host.Clock.AdvanceMinutes(10);
        await (await school.Office.MoveAsync(first, starts[0] + Duration.FromHours(4))).JsonAsync();
        await (await school.Office.SendJsonAsync(HttpMethod.Post, $"/api/v1/lessons/{first}/following/cancel", new { reason = "pupil" })).JsonAsync();
        var (exitCode, lines) = await CheckAsync(school.Host);
        Assert.True(exitCode == 0, string.Join('\n', lines));

        await school.Host.WithDbAsync(db => db.Database.ExecuteSqlAsync($"DELETE FROM messages.messages WHERE kind = 'weekly_moved' AND key LIKE '%:pupil'"));
        (_, lines) = await CheckAsync(school.Host);
        Assert.Contains(lines, line => line.StartsWith("broken lesson_changes_have_letters: ", StringComparison.Ordinal) && line.Contains("not so for 3 of 10: lesson_moved of lesson ", StringComparison.Ordinal));
    }

    [Fact]
    public async Task Every_invariant_has_a_way_to_be_broken_here()
    {
        await using var host = await SchoolHost.OfItsOwnAsync(postgres);
        await using var scope = host.Services.CreateAsyncScope();
        var codes = scope.ServiceProvider.GetServices<IInvariant>().Select(invariant => invariant.Code).Order(StringComparer.Ordinal).ToList();
        Assert.Equal(codes.Distinct(), codes);
        Assert.Equal(codes, Spoilt.Select(row => row.Data.Item1).Distinct().Order(StringComparer.Ordinal));
    }

    [Fact]
    public async Task What_cannot_be_looked_at_does_not_hold_and_the_rest_is_looked_at_all_the_same()
    {
        await using var host = await SchoolHost.OfKeptSchoolAsync(postgres, "ALTER TABLE diary.offers RENAME TO gone");
        var (exitCode, lines) = await CheckAsync(host);
        Assert.Equal(1, exitCode);
        Assert.Contains(lines, line => line.StartsWith("broken offers_have_letters: ", StringComparison.Ordinal) && line.Contains("; could not be looked at: ", StringComparison.Ordinal));
        Assert.Contains(lines, line => line.StartsWith("holds  occupied_time: ", StringComparison.Ordinal));
    }

    [Fact]
    public async Task The_command_looks_at_the_private_database_of_a_running_node_and_writes_nothing()
    {
        var folder = Directory.CreateTempSubdirectory("school-check-");
        try
        {
            await using var cluster = await LocalCluster.StartAsync(folder.FullName, new() { Durable = false });
            var settings = new Dictionary<string, string> { ["SCHOOL_DATA"] = folder.FullName, ["ConnectionStrings__School"] = "" };
            var (exitCode, said) = await SchoolCommand.RunAsync(settings, "check");
            Assert.Equal(1, exitCode);
            Assert.StartsWith("The database is not up to date: it lacks ", said, StringComparison.Ordinal);

            Assert.Equal(0, (await SchoolCommand.RunAsync(settings, "migrate")).ExitCode);
            (exitCode, said) = await SchoolCommand.RunAsync(settings, "check");
            Assert.True(exitCode == 0, said);
            Assert.All(said.Trim().Split('\n'), line => Assert.StartsWith("holds  ", line, StringComparison.Ordinal));
            await using var source = NpgsqlDataSource.Create(cluster.OwnerConnectionString);
            await using var command = source.CreateCommand("SELECT count(*) FROM platform.data_protection_keys");
            Assert.Equal(0L, await command.ExecuteScalarAsync());
        }
        finally
        {
            folder.Delete(recursive: true);
        }
    }

    [Fact]
    public async Task What_would_write_is_an_error_on_the_connection_of_a_check()
    {
        await using var source = NpgsqlDataSource.Create(CheckCommand.ReadOnly(await postgres.CreateDatabaseAsync()));
        await using var command = source.CreateCommand("CREATE TABLE written (id int)");
        var refused = await Assert.ThrowsAsync<PostgresException>(() => command.ExecuteNonQueryAsync());
        Assert.Equal(PostgresErrorCodes.ReadOnlySqlTransaction, refused.SqlState);
    }

    internal static async Task<(int ExitCode, string[] Lines)> CheckAsync(SchoolHost host)
    {
        await using var said = new StringWriter();
        var exitCode = await CheckCommand.RunAsync(host.Services, host.ServiceConnectionString, said, CancellationToken.None);
        return (exitCode, said.ToString().Trim().Split('\n'));
    }
}
