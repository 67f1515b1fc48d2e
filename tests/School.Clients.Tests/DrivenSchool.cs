using Microsoft.EntityFrameworkCore;
using School.Tests;
using School.Web.Modules.Pupils;
using School.Web.Tests.Contract;
using School.Web.Tests.Host;

namespace School.Clients.Tests;

/// <summary>A school that listens on the loopback, its document in a file, and what a client is told to begin with.</summary>
internal sealed class DrivenSchool : IAsyncDisposable
{
    private readonly SchoolHost _host;

    private DrivenSchool(SchoolHost host, DirectoryInfo folder)
    {
        _host = host;
        Folder = folder;
    }

    /// <summary>Empty but for the document.</summary>
    public DirectoryInfo Folder { get; }

    public string Document => Path.Combine(Folder.FullName, "openapi.json");

    /// <summary>Address, sign-in name, password, a pupil and a taught lesson of theirs.</summary>
    public required IReadOnlyList<string> Arguments { get; init; }

    public static async Task<DrivenSchool> StartAsync(TestPostgres postgres)
    {
        var host = await FuzzedSchool.StartAsync(postgres, listening: true);
        var address = host.Url;
        var office = await host.Data.OfficeAsync();
        var lesson = await host.WithDbAsync(db => db.Set<Web.Modules.Diary.Lessons.Lesson>().AsNoTracking().Where(l => l.State == Web.Modules.Diary.Contracts.LessonState.Taught).OrderBy(l => l.StartsAt).FirstAsync());
        var folder = Directory.CreateTempSubdirectory("school-client-");
        var school = new DrivenSchool(host, folder) { Arguments = [address, office.Email!, SchoolHost.Password, lesson.PupilId.ToString(), lesson.Id.ToString()] };
        using var client = new HttpClient();
        await File.WriteAllTextAsync(school.Document, await client.GetStringAsync($"{address}/openapi/v1.json"));
        return school;
    }

    /// <summary>Copies a folder of this project.</summary>
    public void Copy(string name)
    {
        foreach (var file in Directory.EnumerateFiles(Path.Combine(AppContext.BaseDirectory, name)))
        {
            File.Copy(file, Path.Combine(Folder.FullName, Path.GetFileName(file)));
        }
    }

    public async ValueTask DisposeAsync()
    {
        await _host.DisposeAsync();
        Folder.Delete(recursive: true);
    }
}
