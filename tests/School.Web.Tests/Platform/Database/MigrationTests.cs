using System.Runtime.CompilerServices;
using System.Runtime.Versioning;
using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using Npgsql;
using School.Tests;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People;
using School.Web.Platform.Access;
using School.Web.Tests.Host;

namespace School.Web.Tests.Platform.Database;

/// <summary>Every state that a school may have left its database in is taken on, or refused with a sentence.</summary>
[UnsupportedOSPlatform("windows")]
public sealed class MigrationTests(TestPostgres postgres)
{
    public static TheoryData<string> Backups => [.. KeptBackups.All()];

    [Theory]
    [MemberData(nameof(Backups))]
    public async Task A_backup_of_a_former_release_is_restored_and_brought_up_to_date(string file)
    {
        var database = await KeptBackups.RestoredAsync(postgres, file);
        var had = await HistoryAsync(database);
        await using var host = await SchoolHost.OnAsync(postgres, database);

        Assert.Equal([], await host.WithDbAsync(db => db.Database.GetPendingMigrationsAsync()));
        // A node of the release before goes on reading its own rows.
        Assert.Superset(had.ToHashSet(), (await HistoryAsync(database)).ToHashSet());
        await using var fresh = await SchoolHost.StartAsync(postgres);
        Assert.Equal(await SchemaDump.OfAsync(fresh.ConnectionString), await SchemaDump.OfAsync(database));

        Assert.True(await host.WithDbAsync(db => db.Set<Lesson>().CountAsync()) > 0);
        var office = await host.WithDbAsync(db => db.Set<Person>().FirstAsync(person => person.Parts != OfficeParts.None));
        using var api = await host.ApiAsAsync(office);
        var lessons = await (await api.GetAsync("/api/v1/lessons?limit=5")).JsonAsync();
        Assert.Equal(5, lessons.GetProperty("items").GetArrayLength());
        // The demo school that was backed up had a password of its own.
        var hash = new PasswordHasher<Person>().HashPassword(office, SchoolHost.Password);
        await host.WithDbAsync(db => db.Set<Person>().Where(person => person.Id == office.Id).ExecuteUpdateAsync(set => set.SetProperty(person => person.PasswordHash, hash)));
        using var browser = await host.PagesAsAsync(office);
        Assert.True((await browser.GetAsync("/diary/board")).IsSuccessStatusCode);
    }

    [Fact]
    public async Task What_a_charge_was_told_in_is_said_by_its_code_now_and_stands_in_the_history()
    {
        var database = await KeptBackups.RestoredAsync(postgres, "20261125182925_LessonBriefs.backup");
        var told = new Dictionary<Guid, (bool Chargeable, string Words)>();
        await using (var source = NpgsqlDataSource.Create(database))
        {
            await using var command = source.CreateCommand("SELECT id, chargeable, charge_policy FROM diary.lessons WHERE chargeable IS NOT NULL");
            await using var reader = await command.ExecuteReaderAsync();
            while (await reader.ReadAsync())
            {
                told[reader.GetGuid(0)] = (reader.GetBoolean(1), reader.GetString(2));
            }
        }

        // One whose sentence no history holds, as a person might have put it.
        var odd = told.First(pair => pair.Value.Words.Contains("free until", StringComparison.Ordinal)).Key;
        await RunAsync(database, $"UPDATE diary.lessons SET charge_policy = 'Agreed by telephone; free until 12 hours before.' WHERE id = '{odd}'");
        await using var host = await SchoolHost.OnAsync(postgres, database);

        var lessons = await host.WithDbAsync(db => db.Set<Lesson>().AsNoTracking().Where(l => l.Charge != null).ToDictionaryAsync(l => l.Id));
        Assert.Equal(told.Keys.Order(), lessons.Keys.Order());
        Assert.True(told.Values.Distinct().Count() > 3, "The backup holds few kinds of charge.");
        Assert.All(told.Where(pair => pair.Key != odd), pair =>
            Assert.Equal(pair.Value, (lessons[pair.Key].Charge!.Chargeable, lessons[pair.Key].Charge!.DoneToAnybody())));
        Assert.Equal(12, lessons[odd].Charge!.Notice.TotalHours);
        Assert.True(await host.WithDbAsync(db => db.Set<LessonChange>().AnyAsync(c => c.LessonId == odd && c.Words == "Agreed by telephone; free until 12 hours before.")));
    }

    [Fact]
    public async Task A_database_with_only_some_of_the_former_migrations_is_refused_with_a_sentence()
    {
        var database = await KeptBackups.RestoredAsync(postgres, KeptBackups.Oldest);
        await RunAsync(database, "DELETE FROM platform.migrations WHERE migration_id = '20261125182925_LessonBriefs'");
        var before = await SchemaDump.OfAsync(database);

        var (exitCode, said) = await SchoolCommand.RunAsync(database, "migrate");

        Assert.Equal(1, exitCode);
        Assert.Equal(
            "This database was left by an older program at 20261125182449_MocksAndPapers; this program takes over from 20261125182925_LessonBriefs. "
            + "Run migrate of the release between them first, then this one. Nothing was changed.",
            said.Trim());
        Assert.Equal(before, await SchemaDump.OfAsync(database));
    }

    [Fact]
    public async Task A_database_that_is_not_there_is_made_without_a_word()
    {
        var there = await postgres.CreateDatabaseAsync();
        var missing = new NpgsqlConnectionStringBuilder(there);
        missing.Database += "_made";

        Dictionary<string, string> both = new() { ["ConnectionStrings__School"] = postgres.AsService(missing.ConnectionString), ["ConnectionStrings__SchoolOwner"] = missing.ConnectionString };
        Assert.Equal((0, ""), await SchoolCommand.RunAsync(both, "migrate"));
        Assert.Equal((0, ""), await SchoolCommand.RunAsync(both, "migrate"));
        Assert.NotEmpty(await HistoryAsync(missing.ConnectionString));
        await postgres.DropDatabaseAsync(missing.ConnectionString);
    }

    [Theory]
    [InlineData("Host=127.0.0.1;Port=1;Username=nobody;Database=school", "The database cannot be reached: ")]
    [InlineData("Username=nobody_at_all", "The database cannot be reached: 28P01: ")]
    public async Task A_server_that_does_not_let_us_in_is_a_sentence(string changes, string begins)
    {
        var there = await postgres.CreateDatabaseAsync();
        var (exitCode, said) = await SchoolCommand.RunAsync(changes.StartsWith("Host", StringComparison.Ordinal) ? changes : $"{there};{changes}", "migrate");
        Assert.Equal(1, exitCode);
        Assert.StartsWith(begins, said, StringComparison.Ordinal);
        Assert.DoesNotContain("   at ", said, StringComparison.Ordinal);
    }

    [Fact]
    public async Task What_the_model_cannot_say_stands_beside_its_module_as_it_is_now()
    {
        // Columns may come in another order than history gave them, and rights are given by migrate; what the schema is may not differ.
        string[] options = ["--no-privileges", "--exclude-table=platform.migrations", "--exclude-schema=hangfire"];
        await using var host = await SchoolHost.StartAsync(postgres);
        var said = await postgres.CreateDatabaseAsync();
        await RunAsync(said, await host.WithDbAsync(db => Task.FromResult(db.Database.GenerateCreateScript())));
        var files = Directory.GetFiles(Modules(), "*.sql", SearchOption.AllDirectories);
        Assert.Contains(files, file => file.EndsWith("Diary/occupied.sql", StringComparison.Ordinal));
        await RunAsync(said, await File.ReadAllTextAsync(Path.Combine(Modules(), "../Platform/Find/plain.sql")));
        // Its function guards the histories of the others.
        foreach (var file in files.OrderByDescending(file => file.Contains("/Records/", StringComparison.Ordinal)).ThenBy(file => file, StringComparer.Ordinal))
        {
            await RunAsync(said, await File.ReadAllTextAsync(file));
        }

        Assert.Equal(Sorted(await SchemaDump.OfAsync(host.ConnectionString, options)), Sorted(await SchemaDump.OfAsync(said, options)));
    }

    private static string[] Sorted(string[] dump) => [.. dump.Select(line => line.TrimEnd(',')).Order(StringComparer.Ordinal)];

    private static string Modules([CallerFilePath] string here = "") =>
        Path.GetFullPath(Path.Combine(Path.GetDirectoryName(here)!, "../../../../src/School.Web/Modules"));

    private static async Task RunAsync(string connectionString, string sql)
    {
        await using var source = NpgsqlDataSource.Create(connectionString);
        await using var command = source.CreateCommand(sql);
        await command.ExecuteNonQueryAsync();
    }

    private static async Task<List<string>> HistoryAsync(string connectionString)
    {
        await using var source = NpgsqlDataSource.Create(connectionString);
        await using var command = source.CreateCommand("SELECT migration_id FROM platform.migrations ORDER BY 1");
        await using var reader = await command.ExecuteReaderAsync();
        var ids = new List<string>();
        while (await reader.ReadAsync())
        {
            ids.Add(reader.GetString(0));
        }

        return ids;
    }
}
