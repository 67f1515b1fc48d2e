using System.Net;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using School.Tests;
using School.Web.Modules.Diary.Waiting;
using School.Web.Modules.Messages;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.Waiting;

/// <summary>One instructor, a lesson of somebody who may cancel it, and pupils who wait.</summary>
internal sealed class WaitingSchool : IAsyncDisposable
{
    public static readonly Instant Thursday10 = London(2026, 3, 5, 10);

    public required SchoolHost Host { get; init; }

    public required Guid InstructorId { get; init; }

    public required HttpClient Office { get; init; }

    public required Guid LessonId { get; init; }

    public static async Task<WaitingSchool> StartAsync(TestPostgres postgres)
    {
        var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var first = await host.Data.PupilAsync("Wren Castellan");
        var lesson = await office.BookedAsync(first.Id, instructor.Id, Thursday10);
        return new() { Host = host, InstructorId = instructor.Id, Office = office, LessonId = lesson.Id() };
    }

    /// <summary>A pupil who waits, with their own client.</summary>
    public async Task<(Guid Id, HttpClient Api)> WaiterAsync(string name, string wanted = "anyLesson")
    {
        var pupil = await Host.Data.PupilAsync(name);
        var api = await Host.ApiAsAsync(await Host.Data.PersonAsync(pupil));
        if (wanted == "anyLesson")
        {
            await (await JoinAsync(api, pupil.Id, wanted)).JsonAsync(HttpStatusCode.Created);
        }

        Host.Clock.AdvanceMinutes(1);
        return (pupil.Id, api);
    }

    public static Task<HttpResponseMessage> JoinAsync(HttpClient api, Guid pupil, string wanted, string? from = null, string? to = null) =>
        api.SendJsonAsync(HttpMethod.Post, "/api/v1/waiting-list", new { pupilId = pupil, @for = wanted, from, to });

    public async Task CancelAsync() => await (await Office.CancelAsync(LessonId)).JsonAsync();

    /// <summary>What the job does every half minute.</summary>
    public async Task RoundAsync()
    {
        await using var scope = Host.Services.CreateAsyncScope();
        await scope.ServiceProvider.GetRequiredService<OfferFreedSlots>().RunAsync(TestContext.Current.CancellationToken);
    }

    public static async Task<List<JsonElement>> OffersAsync(HttpClient api) =>
        [.. (await api.GetJsonAsync("/api/v1/offers")).GetProperty("items").EnumerateArray()];

    public static async Task<JsonElement> OfferAsync(HttpClient api) => Assert.Single(await OffersAsync(api), o => o.Word("state") == "open");

    public static Task<HttpResponseMessage> AnswerAsync(HttpClient api, Guid offer, string act = "accept") =>
        api.SendJsonAsync(HttpMethod.Post, $"/api/v1/offers/{offer}/{act}");

    public Task<List<Said>> LettersAsync(string kind) => Host.SaidAsync(all => all.Where(m => m.Kind == kind).OrderBy(m => m.ToName));

    public async ValueTask DisposeAsync()
    {
        Office.Dispose();
        await Host.DisposeAsync();
    }
}
