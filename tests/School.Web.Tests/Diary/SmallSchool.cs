using Microsoft.EntityFrameworkCore;
using School.Tests;
using School.Web.Modules.Messages;
using School.Web.Tests.Host;

namespace School.Web.Tests.Diary;

/// <summary>One pupil, one instructor with a manual car, and the office, each signed in to the API.</summary>
internal sealed class SmallSchool : IAsyncDisposable
{
    public required SchoolHost Host { get; init; }

    public required Guid PupilId { get; init; }

    public required Guid InstructorId { get; init; }

    public required HttpClient Pupil { get; init; }

    public required HttpClient Instructor { get; init; }

    public required HttpClient Office { get; init; }

    public static async Task<SmallSchool> StartAsync(TestPostgres postgres) => await OnAsync(await SchoolHost.StartAsync(postgres));

    public static async Task<SmallSchool> OnAsync(SchoolHost host)
    {
        var instructor = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync(instructor: instructor.Id);
        return new()
        {
            Host = host,
            PupilId = pupil.Id,
            InstructorId = instructor.Id,
            Pupil = await host.ApiAsAsync(await host.Data.PersonAsync(pupil)),
            Instructor = await host.ApiAsAsync(await host.Data.PersonAsync(instructor)),
            Office = await host.ApiAsAsync(await host.Data.OfficeAsync()),
        };
    }

    /// <summary>Messages about a lesson, by key: kind, sequence, to whom.</summary>
    public Task<List<Said>> MessagesAsync(Guid lesson, string? kind = null) =>
        Host.SaidAsync(all => all.Where(m => m.AboutId == lesson && (kind == null || m.Kind == kind)).OrderBy(m => m.Key));

    public async ValueTask DisposeAsync()
    {
        Pupil.Dispose();
        Instructor.Dispose();
        Office.Dispose();
        await Host.DisposeAsync();
    }
}
