using System.Runtime.Versioning;
using Npgsql;
using School.Tests;
using School.Web.Platform.Operations;
using Xunit;

namespace School.Web.Tests.Platform;

[UnsupportedOSPlatform("windows")]
public sealed class BackupTests(TestPostgres postgres) : IDisposable
{
    private const string Small = """
        CREATE EXTENSION btree_gist;
        CREATE SCHEMA jobs;
        CREATE TABLE jobs.queue (id int PRIMARY KEY);
        INSERT INTO jobs.queue SELECT generate_series(1, 100);
        CREATE TABLE bookings (id int PRIMARY KEY, instructor int, held tstzrange, note text, EXCLUDE USING gist (instructor WITH =, held WITH &&));
        INSERT INTO bookings SELECT n, n % 3, tstzrange(to_timestamp(n * 3600), to_timestamp(n * 3600 + 3600)), 'Zoë №' || n || E'\t\\.\n' FROM generate_series(1, 1000) n;
        CREATE FUNCTION no_change() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RAISE 'append only'; END $$;
        CREATE TRIGGER append_only BEFORE UPDATE OR DELETE ON bookings FOR EACH ROW EXECUTE FUNCTION no_change();
        """;

    private const string Content = """
        SELECT (SELECT count(*) || md5(string_agg(b::text, '|' ORDER BY id)) FROM bookings b)
            || (SELECT count(*) || md5(string_agg(q::text, '|' ORDER BY id)) FROM jobs.queue q)
        """;

    private readonly DirectoryInfo folder = Directory.CreateTempSubdirectory("school-backup-");
    private readonly StringWriter said = new();

    private string BackupFile => Path.Combine(folder.FullName, "school.backup");

    public void Dispose()
    {
        folder.Delete(recursive: true);
        said.Dispose();
    }

    [Fact]
    public async Task A_backup_restored_into_an_empty_database_has_the_same_rows_and_guards()
    {
        var source = await SmallDatabaseAsync();
        var target = await postgres.CreateDatabaseAsync();
        Assert.Equal(0, await CommandAsync(source, "backup", BackupFile));
        Assert.Equal(0, await CommandAsync(target, "restore", BackupFile, "--moves"));
        Assert.Equal(await SqlAsync(source, Content), await SqlAsync(target, Content));
        var clash = await Assert.ThrowsAsync<PostgresException>(() => SqlAsync(target, "INSERT INTO bookings SELECT 5000, instructor, held, '' FROM bookings WHERE id = 1"));
        Assert.Equal(PostgresErrorCodes.ExclusionViolation, clash.SqlState);
        var change = await Assert.ThrowsAsync<PostgresException>(() => SqlAsync(target, "DELETE FROM bookings"));
        Assert.Equal("append only", change.MessageText);
    }

    [Fact]
    public async Task A_backup_is_readable_only_by_its_owner_and_never_overwrites_another()
    {
        var source = await SmallDatabaseAsync();
        Assert.Equal(0, await CommandAsync(source, "backup", BackupFile));
        Assert.Equal(UnixFileMode.UserRead | UnixFileMode.UserWrite, File.GetUnixFileMode(BackupFile));
        Assert.Equal(1, await CommandAsync(source, "backup", BackupFile));
        Assert.Contains("exists already", said.ToString(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_database_with_nothing_in_it_is_not_taken_for_a_school()
    {
        Assert.Equal(1, await CommandAsync(await postgres.CreateDatabaseAsync(), "backup", BackupFile));
        Assert.StartsWith("Nothing is in this database.", said.ToString(), StringComparison.Ordinal);
        Assert.Empty(folder.GetFiles());
    }

    [Fact]
    public async Task A_database_with_tables_is_replaced_only_on_demand()
    {
        var source = await SmallDatabaseAsync();
        Assert.Equal(0, await CommandAsync(source, "backup", BackupFile));
        var before = await SqlAsync(source, Content);
        await SqlAsync(source, "INSERT INTO jobs.queue VALUES (101); CREATE TABLE newer (id int)");
        Assert.Equal(1, await CommandAsync(source, "restore", BackupFile, "--moves"));
        Assert.Contains("--replace", said.ToString(), StringComparison.Ordinal);
        Assert.NotEqual(before, await SqlAsync(source, Content));

        Assert.Equal(0, await CommandAsync(source, "restore", BackupFile, "--replace", "--moves"));
        Assert.Equal(before, await SqlAsync(source, Content));
        Assert.Equal(0L, await SqlAsync(source, "SELECT count(*) FROM pg_class WHERE relname = 'newer'"));

        // What was restored can be backed up and restored again.
        Assert.Equal(0, await CommandAsync(source, "backup", BackupFile + "2"));
        Assert.Equal(0, await CommandAsync(source, "restore", BackupFile + "2", "--replace", "--moves"));
        Assert.Equal(before, await SqlAsync(source, Content));
    }

    [Fact]
    public async Task A_damaged_backup_leaves_the_database_as_it_was()
    {
        var source = await SmallDatabaseAsync();
        Assert.Equal(0, await CommandAsync(source, "backup", BackupFile));
        var before = await SqlAsync(source, Content);
        await using (var file = File.OpenWrite(BackupFile))
        {
            file.SetLength(file.Length * 3 / 4);
        }

        Assert.Equal(1, await CommandAsync(source, "restore", BackupFile, "--replace", "--moves"));
        Assert.Contains("the database is as it was", said.ToString(), StringComparison.Ordinal);
        Assert.Equal(before, await SqlAsync(source, Content));

        await File.WriteAllTextAsync(BackupFile, "not a backup", TestContext.Current.CancellationToken);
        Assert.Equal(1, await CommandAsync(source, "restore", BackupFile, "--replace", "--moves"));
        Assert.Equal(before, await SqlAsync(source, Content));
    }

    [Fact]
    public async Task A_database_in_use_is_not_replaced()
    {
        var source = await SmallDatabaseAsync();
        Assert.Equal(0, await CommandAsync(source, "backup", BackupFile));
        await using var inUse = new NpgsqlConnection(source);
        await inUse.OpenAsync(TestContext.Current.CancellationToken);
        Assert.Equal(1, await CommandAsync(source, "restore", BackupFile, "--replace", "--moves"));
        Assert.Contains("in use by 1 other session", said.ToString(), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("backup")]
    [InlineData("backup", "--help")]
    [InlineData("restore", "a", "b")]
    [InlineData("restore", "a", "--force")]
    [InlineData("restore", "a", "--moves", "--copy")]
    [InlineData("restore", "a", "--moves", "--key")]
    [InlineData("restore", "--moves")]
    [InlineData("renew", "everything")]
    public async Task A_wrong_command_line_is_told_how_to_write_it(params string[] args)
    {
        Assert.Equal(2, await CommandAsync("Host=localhost", args));
        Assert.StartsWith("Usage:", said.ToString(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_server_that_does_not_answer_is_a_sentence_and_not_a_crash()
    {
        Assert.Equal(1, await CommandAsync("Host=/nowhere;Username=x", "backup", BackupFile));
        Assert.NotEmpty(said.ToString());
        Assert.False(File.Exists(BackupFile));
    }

    private async Task<string> SmallDatabaseAsync()
    {
        await postgres.PrepareTemplateAsync("backup_source", connection => SqlAsync(connection, Small));
        return await postgres.CreateDatabaseAsync("backup_source");
    }

    private Task<int> CommandAsync(string connection, params string[] args) =>
        BackupCommand.RunAsync(args, connection, said, said, cancel: TestContext.Current.CancellationToken);

    private static async Task<object?> SqlAsync(string connection, string sql)
    {
        await using var source = NpgsqlDataSource.Create(connection);
        await using var command = source.CreateCommand(sql);
        return await command.ExecuteScalarAsync(TestContext.Current.CancellationToken);
    }
}
