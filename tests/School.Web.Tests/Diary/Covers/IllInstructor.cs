using System.Net;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Tests.Host;

namespace School.Web.Tests.Diary.Covers;

/// <summary>Marigold has two lessons on Tuesday 3 March, at 10:00 and 14:00; Bram is booked from 13:30 to 15:30 and free before.</summary>
internal sealed class IllInstructor : IAsyncDisposable
{
    public static readonly LocalDate Tuesday = new(2026, 3, 3);

    public required SchoolHost Host { get; init; }

    public required Instructor Marigold { get; init; }

    public required Instructor Bram { get; init; }

    public required Pupil Tamsin { get; init; }

    public required Guid AtTen { get; init; }

    public required Guid AtTwo { get; init; }

    public required HttpClient Office { get; init; }

    public static async Task<IllInstructor> StartAsync(TestPostgres postgres, params (string Key, string Value)[] settings)
    {
        var host = await SchoolHost.StartAsync(postgres, settings: settings);
        var marigold = await host.Data.InstructorAsync("Marigold Ashby");
        var bram = await host.Data.InstructorAsync("Bram Holt");
        var tamsin = await host.Data.PupilAsync("Tamsin Oakley");
        var idris = await host.Data.PupilAsync("Idris Bell");
        var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var ten = await office.BookedAsync(tamsin.Id, marigold.Id, At(10));
        var two = await office.BookedAsync(idris.Id, marigold.Id, At(14));
        await office.BookedAsync((await host.Data.PupilAsync("Wren Castellan")).Id, bram.Id, At(13, 30), 120);
        return new() { Host = host, Marigold = marigold, Bram = bram, Tamsin = tamsin, AtTen = ten.Id(), AtTwo = two.Id(), Office = office };
    }

    public static Instant At(int hour, int minute = 0) => DiaryApi.London(2026, 3, 3, hour, minute);

    public async Task<JsonElement> PlanAsync(int mayMoveMinutes = 0) =>
        await (await AskAsync(new { instructorId = Marigold.Id, start = DiaryApi.Text(At(0)), end = DiaryApi.Text(At(23, 59)), mayMoveMinutes })).JsonAsync(HttpStatusCode.Created);

    public Task<HttpResponseMessage> AskAsync(object body) => Office.SendJsonAsync(HttpMethod.Post, "/api/v1/covers", body);

    public Task<HttpResponseMessage> ApplyAsync(Guid plan, params Guid[] lessons) =>
        Office.SendJsonAsync(HttpMethod.Post, $"/api/v1/covers/{plan}/apply", lessons.Length == 0 ? null : new { lines = lessons });

    public Task<Lesson> LessonAsync(Guid id) => Host.WithDbAsync(db => db.Set<Lesson>().AsNoTracking().SingleAsync(l => l.Id == id));

    public Task<Proposal> KeptAsync(Guid id) => Host.WithDbAsync(db => db.Set<Proposal>().AsNoTracking().SingleAsync(c => c.Id == id));

    public async ValueTask DisposeAsync()
    {
        Office.Dispose();
        await Host.DisposeAsync();
    }
}
