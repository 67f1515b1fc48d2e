using System.Runtime.CompilerServices;
using System.Runtime.Versioning;
using School.Tests;
using School.Web.Platform.Operations;

namespace School.Web.Tests.Host;

/// <summary>Files of <c>School.Web backup</c> of a whole invented school, each named after the newest migration that it had.</summary>
[UnsupportedOSPlatform("windows")]
internal static class KeptBackups
{
    /// <summary>The end of the first row of migrations.</summary>
    public const string Oldest = "20261125182925_LessonBriefs.backup";

    public const string Template = "kept_backup";

    public static IEnumerable<string> All() => Directory.GetFiles(Folder(), "*.backup").Select(file => Path.GetFileName(file)).Order(StringComparer.Ordinal);

    /// <summary>A new database with what a file holds, as the file has it.</summary>
    public static async Task<string> RestoredAsync(TestPostgres postgres, string file)
    {
        var database = await postgres.CreateDatabaseAsync();
        await RestoreAsync(file, database);
        return database;
    }

    /// <summary>A new database with a whole school in it, up to date.</summary>
    public static async Task<string> SchoolAsync(TestPostgres postgres)
    {
        await PrepareSchoolAsync(postgres);
        return await postgres.CreateDatabaseAsync(Template);
    }

    /// <summary>Makes the template that such databases are copies of.</summary>
    public static Task PrepareSchoolAsync(TestPostgres postgres) => postgres.PrepareTemplateAsync(Template, async database =>
    {
        await RestoreAsync(All().Last(), database);
        await using var host = await SchoolHost.OnAsync(postgres, database);
    });

    private static async Task RestoreAsync(string file, string database)
    {
        await using var said = new StringWriter();
        Assert.True(await BackupCommand.RunAsync(["restore", Path.Combine(Folder(), file), "--moves"], database, said, said) == 0, said.ToString());
    }

    private static string Folder([CallerFilePath] string here = "") => Path.GetFullPath(Path.Combine(Path.GetDirectoryName(here)!, "../Backups"));
}
