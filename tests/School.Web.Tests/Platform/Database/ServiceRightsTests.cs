using System.Runtime.CompilerServices;
using System.Runtime.Versioning;
using Microsoft.EntityFrameworkCore;
using Npgsql;
using School.Tests;
using School.Web.Platform.LocalPostgres;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;

namespace School.Web.Tests.Platform.Database;

/// <summary>The service works as a role that can neither change the schema nor rewrite what is only ever added to.</summary>
[UnsupportedOSPlatform("windows")]
public sealed class ServiceRightsTests(TestPostgres postgres)
{
    private const string OnlyAdded = """
        SELECT DISTINCT g.tgrelid::regclass::text FROM pg_trigger g JOIN pg_proc f ON f.oid = g.tgfoid WHERE f.proname = 'refuse_change' ORDER BY 1
        """;

    [Fact]
    public async Task The_service_runs_as_the_lesser_role_and_does_its_work()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        Assert.Equal([LocalCluster.ServiceRole], await school.Host.WithDbAsync(db => db.Database.SqlQuery<string>($"SELECT current_user::text AS \"Value\"").ToListAsync()));
        var lesson = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, DiaryApi.London(2026, 3, 5, 10))).Id();
        await (await school.Instructor.MoveAsync(lesson, DiaryApi.London(2026, 3, 5, 14))).JsonAsync();
        await (await school.Pupil.CancelAsync(lesson)).JsonAsync();
        Assert.Equal(3, await school.Host.WithDbAsync(db => db.Set<School.Web.Modules.Diary.Lessons.LessonChange>().CountAsync(c => c.LessonId == lesson)));
    }

    [Fact]
    public async Task What_changes_the_schema_or_its_guards_is_refused_by_privilege()
    {
        string[] changes =
        [
            "CREATE TABLE diary.more (id int)",
            "CREATE TABLE public.more (id int)",
            "CREATE TABLE hangfire.more (id int)",
            "CREATE SCHEMA more",
            "ALTER TABLE diary.lessons ADD COLUMN more int",
            "ALTER TABLE records.audit DISABLE TRIGGER audit_only_added",
            "ALTER TABLE records.audit DISABLE TRIGGER ALL",
            "DROP TRIGGER lessons_occupy ON diary.lessons",
            "CREATE OR REPLACE FUNCTION records.refuse_change() RETURNS trigger LANGUAGE plpgsql AS 'BEGIN RETURN NEW; END'",
            "ALTER TABLE diary.occupied DROP CONSTRAINT lessons_instructor_once",
            "CREATE INDEX ON diary.lessons (id)",
            "CREATE TRIGGER more BEFORE UPDATE ON diary.lessons FOR EACH ROW EXECUTE FUNCTION records.refuse_change()",
            "DROP TABLE diary.occupied",
            "TRUNCATE records.audit",
            "TRUNCATE diary.lessons CASCADE",
            "DELETE FROM platform.migrations",
            "INSERT INTO platform.migrations VALUES ('20990101000000_Later', '10.0.0')",
            "SET ROLE school",
            "SET session_replication_role = replica",
            "CREATE ROLE another SUPERUSER",
            "COPY records.audit TO PROGRAM 'cat'",
        ];
        await using var host = await SchoolHost.StartAsync(postgres);
        foreach (var sql in changes)
        {
            Assert.Equal((sql, PostgresErrorCodes.InsufficientPrivilege), (sql, await RefusalAsync(host.ServiceConnectionString, sql)));
        }
    }

    [Fact]
    public async Task What_is_only_ever_added_to_can_be_read_and_added_to_and_nothing_else()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var guarded = await ListAsync(host.ConnectionString, OnlyAdded);
        Assert.Superset(
            new HashSet<string>
            {
                "records.audit", "diary.lesson_changes", "diary.test_day_changes", "syllabus.editions", "syllabus.lesson_record_changes", "syllabus.mock_test_changes",
            },
            guarded.ToHashSet());
        foreach (var table in guarded)
        {
            var column = (await ListAsync(host.ConnectionString, $"SELECT attname::text FROM pg_attribute WHERE attrelid = '{table}'::regclass AND attnum = 1"))[0];
            Assert.Equal((table, "42501"), (table, await RefusalAsync(host.ServiceConnectionString, $"UPDATE {table} SET {column} = {column}")));
            Assert.Equal((table, "42501"), (table, await RefusalAsync(host.ServiceConnectionString, $"DELETE FROM {table}")));
            Assert.Equal((table, null), (table, await RefusalAsync(host.ServiceConnectionString, $"SELECT FROM {table}")));
            Assert.Equal(["True"], await ListAsync(host.ServiceConnectionString, $"SELECT initcap(has_table_privilege('{table}', 'INSERT')::text)"));
        }
    }

    [Fact]
    public async Task Tables_that_a_restore_brings_are_open_to_the_service_again_and_no_wider()
    {
        var database = await postgres.CreateDatabaseAsync();
        var both = Both(database);
        Assert.Equal(0, (await SchoolCommand.RunAsync(both, "migrate")).ExitCode);
        var file = Path.Combine(Directory.CreateTempSubdirectory("school-rights-").FullName, "school.backup");
        Assert.Equal(0, (await SchoolCommand.RunAsync(both, "backup", file)).ExitCode);

        // The owner sees the sessions of the service, or a restore would go on under them.
        await using (var inUse = new NpgsqlConnection(new NpgsqlConnectionStringBuilder(postgres.AsService(database)) { Pooling = false }.ConnectionString))
        {
            await inUse.OpenAsync();
            var (exitCode, said) = await SchoolCommand.RunAsync(both, "restore", file, "--replace", "--moves");
            Assert.Equal(1, exitCode);
            Assert.Contains("in use by 1 other session", said, StringComparison.Ordinal);
        }

        var restored = await SchoolCommand.RunAsync(both, "restore", file, "--replace", "--moves");
        Assert.True(restored.ExitCode == 0, restored.Said);
        Assert.Null(await RefusalAsync(postgres.AsService(database), "UPDATE people.school SET name = name; SELECT FROM hangfire.job"));
        Assert.Equal(PostgresErrorCodes.InsufficientPrivilege, await RefusalAsync(postgres.AsService(database), "DELETE FROM records.audit"));
        Directory.Delete(Path.GetDirectoryName(file)!, recursive: true);
    }

    [Fact]
    public async Task A_right_that_somebody_gave_by_hand_is_taken_back_by_migrate()
    {
        var database = await postgres.CreateDatabaseAsync();
        Assert.Equal(0, (await SchoolCommand.RunAsync(Both(database), "migrate")).ExitCode);
        await ListAsync(database, $"GRANT ALL ON records.audit TO {LocalCluster.ServiceRole}");
        Assert.NotEqual(PostgresErrorCodes.InsufficientPrivilege, await RefusalAsync(postgres.AsService(database), "TRUNCATE records.audit"));
        Assert.Equal(0, (await SchoolCommand.RunAsync(Both(database), "migrate")).ExitCode);
        Assert.Equal(PostgresErrorCodes.InsufficientPrivilege, await RefusalAsync(postgres.AsService(database), "TRUNCATE records.audit"));
    }

    [Fact]
    public async Task A_role_that_is_not_there_or_has_too_many_rights_is_a_sentence_that_says_what_to_do()
    {
        var database = await postgres.CreateDatabaseAsync();
        var owner = new NpgsqlConnectionStringBuilder(database).Username;
        var missing = await SchoolCommand.RunAsync(
            new Dictionary<string, string> { ["ConnectionStrings__School"] = $"{database};Username=school_nobody", ["ConnectionStrings__SchoolOwner"] = database }, "migrate");
        Assert.Equal(1, missing.ExitCode);
        Assert.Contains($"CREATE ROLE school_nobody LOGIN PASSWORD '…'; GRANT school_nobody TO {owner};", missing.Said, StringComparison.Ordinal);

        var same = await SchoolCommand.RunAsync(
            new Dictionary<string, string> { ["ConnectionStrings__School"] = $"{database};Application Name=web", ["ConnectionStrings__SchoolOwner"] = database }, "migrate");
        Assert.Equal(1, same.ExitCode);
        Assert.Contains("Give the service a role of its own, or leave ConnectionStrings__SchoolOwner out.", same.Said, StringComparison.Ordinal);
    }

    [Fact]
    public async Task An_installation_with_one_role_goes_on_and_is_told_how_to_part_them()
    {
        var (exitCode, said) = await SchoolCommand.RunAsync(await postgres.CreateDatabaseAsync(), "migrate");
        Assert.Equal(0, exitCode);
        Assert.Equal("One database role owns the schema and runs the service. docs/operations.md, “Two database roles”, tells how to part them.", said.Trim());
    }

    [Fact]
    public async Task A_private_database_from_before_gets_its_second_role_at_the_next_start()
    {
        var folder = Directory.CreateTempSubdirectory("school-rights-");
        try
        {
            await using (var before = await LocalCluster.StartAsync(folder.FullName, new() { Durable = false }))
            {
                await ListAsync(Superuser(before, folder.FullName), $"DROP ROLE {LocalCluster.ServiceRole}");
            }

            File.Delete(Path.Combine(folder.FullName, "postgres.service-password"));
            await using var cluster = await LocalCluster.StartAsync(folder.FullName, new() { Durable = false });
            Assert.Equal(0, (await SchoolCommand.RunAsync(new Dictionary<string, string> { ["SCHOOL_DATA"] = folder.FullName, ["ConnectionStrings__School"] = "" }, "migrate")).ExitCode);
            Assert.Equal([LocalCluster.ServiceRole], await ListAsync(cluster.ConnectionString, "SELECT current_user::text"));
            Assert.Null(await RefusalAsync(cluster.ConnectionString, "UPDATE people.school SET name = name"));
            Assert.Equal(PostgresErrorCodes.InsufficientPrivilege, await RefusalAsync(cluster.ConnectionString, "DELETE FROM records.audit"));
        }
        finally
        {
            folder.Delete(recursive: true);
        }
    }

    [Fact]
    public async Task The_roles_that_containers_make_are_enough_to_migrate_and_to_serve()
    {
        var folder = Directory.CreateTempSubdirectory("school-rights-");
        try
        {
            await using var cluster = await LocalCluster.StartAsync(folder.FullName, new() { Durable = false });
            var super = new NpgsqlConnectionStringBuilder(Superuser(cluster, folder.FullName)) { Pooling = false, Database = "postgres" };
            foreach (var sql in (string[])["DROP DATABASE school", "DROP ROLE school", "DROP ROLE school_service"])
            {
                await ListAsync(super.ConnectionString, sql);
            }

            var start = Posix.Command(null, "sh", [Script()]);
            foreach (var (name, value) in new Dictionary<string, string?>
            {
                ["PGHOST"] = super.Host,
                ["PGPORT"] = $"{super.Port}",
                ["PGPASSWORD"] = super.Password,
                ["SCHOOL_OWNER_PASSWORD"] = "it's owned",
                ["SCHOOL_SERVICE_PASSWORD"] = "served",
            })
            {
                start.Environment[name] = value;
            }

            var (made, complaint) = await Posix.RunAsync(start);
            Assert.True(made == 0, complaint);
            super.Database = "school";
            var owner = new NpgsqlConnectionStringBuilder(super.ConnectionString) { Username = "school", Password = "it's owned" }.ConnectionString;
            var service = new NpgsqlConnectionStringBuilder(super.ConnectionString) { Username = "school_service", Password = "served" }.ConnectionString;
            var (exitCode, said) = await SchoolCommand.RunAsync(
                new Dictionary<string, string> { ["ConnectionStrings__School"] = service, ["ConnectionStrings__SchoolOwner"] = owner }, "migrate");
            Assert.True(exitCode == 0, said);
            (exitCode, said) = await SchoolCommand.RunAsync(service, "add-office", "office@larkfield.example", "Rosalind Pike");
            Assert.True(exitCode == 0, said);
            Assert.Equal(PostgresErrorCodes.InsufficientPrivilege, await RefusalAsync(service, "DELETE FROM records.audit"));
        }
        finally
        {
            folder.Delete(recursive: true);
        }
    }

    private static string Script([CallerFilePath] string here = "") =>
        Path.GetFullPath(Path.Combine(Path.GetDirectoryName(here)!, "../../../../deploy/database/roles.sh"));

    private static string Superuser(LocalCluster cluster, string folder) => new NpgsqlConnectionStringBuilder(cluster.OwnerConnectionString)
    {
        Username = ClusterFolder.Superuser,
        Password = File.ReadAllText(Path.Combine(folder, "postgres.password")).Trim(),
    }.ConnectionString;

    private Dictionary<string, string> Both(string database) =>
        new() { ["ConnectionStrings__School"] = postgres.AsService(database), ["ConnectionStrings__SchoolOwner"] = database };

    /// <summary>The SQLSTATE with which it was refused; null when it was done.</summary>
    private static async Task<string?> RefusalAsync(string connectionString, string sql)
    {
        try
        {
            await ListAsync(connectionString, sql);
            return null;
        }
        catch (PostgresException refused)
        {
            return refused.SqlState;
        }
    }

    private static async Task<List<string>> ListAsync(string connectionString, string sql)
    {
        await using var connection = new NpgsqlConnection(new NpgsqlConnectionStringBuilder(connectionString) { Pooling = false }.ConnectionString);
        await connection.OpenAsync();
        await using var command = new NpgsqlCommand(sql, connection);
        await using var reader = await command.ExecuteReaderAsync();
        var rows = new List<string>();
        while (await reader.ReadAsync())
        {
            if (reader.FieldCount > 0)
            {
                rows.Add(reader.GetString(0));
            }
        }

        return rows;
    }
}
