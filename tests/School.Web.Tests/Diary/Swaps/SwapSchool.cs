using System.Net;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using School.Tests;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Swaps;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Tests.Host;

namespace School.Web.Tests.Diary.Swaps;

/// <summary>Tuesday 3 March: Marigold has Tamsin from 10:00 to 11:00 and Idris from 14:00 to 15:00, Bram has Wren from 13:30 to 15:30.</summary>
internal sealed class SwapSchool : IAsyncDisposable
{
    public const string Address = "/api/v1/swaps";

    public required SchoolHost Host { get; init; }

    public required Instructor Marigold { get; init; }

    public required Instructor Bram { get; init; }

    public required Pupil Tamsin { get; init; }

    public required Pupil Idris { get; init; }

    public required Pupil Wren { get; init; }

    public required Guid Ten { get; init; }

    public required Guid Two { get; init; }

    public required Guid HalfPastOne { get; init; }

    public required HttpClient Office { get; init; }

    public required HttpClient AsTamsin { get; init; }

    public required HttpClient AsWren { get; init; }

    public static async Task<SwapSchool> StartAsync(TestPostgres postgres)
    {
        var host = await SchoolHost.StartAsync(postgres);
        var (marigold, bram) = (await host.Data.InstructorAsync("Marigold Ashby"), await host.Data.InstructorAsync("Bram Holt"));
        var (tamsin, idris, wren) = (await host.Data.PupilAsync("Tamsin Oakley"), await host.Data.PupilAsync("Idris Bell"), await host.Data.PupilAsync("Wren Castellan"));
        var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        return new()
        {
            Host = host,
            Marigold = marigold,
            Bram = bram,
            Tamsin = tamsin,
            Idris = idris,
            Wren = wren,
            Office = office,
            Ten = (await office.BookedAsync(tamsin.Id, marigold.Id, At(10))).Id(),
            Two = (await office.BookedAsync(idris.Id, marigold.Id, At(14))).Id(),
            HalfPastOne = (await office.BookedAsync(wren.Id, bram.Id, At(13, 30), 120)).Id(),
            AsTamsin = await host.ApiAsAsync(await host.Data.PersonAsync(tamsin)),
            AsWren = await host.ApiAsAsync(await host.Data.PersonAsync(wren)),
        };
    }

    public static Instant At(int hour, int minute = 0) => DiaryApi.London(2026, 3, 3, hour, minute);

    public Task<HttpResponseMessage> AskAsync(object body, HttpClient? by = null) => (by ?? Office).SendJsonAsync(HttpMethod.Post, Address, body);

    /// <summary>Tamsin's lesson with Wren's, unless others are named.</summary>
    public async Task<JsonElement> SwapAsync(Guid? lesson = null, Guid? with = null, params Guid[] agreed) =>
        await (await AskAsync(new { lessonId = lesson ?? Ten, withLessonId = with ?? HalfPastOne, agreed })).JsonAsync(HttpStatusCode.Created);

    public static Task<HttpResponseMessage> AcceptAsync(HttpClient by, Guid swap, Guid? lesson = null) =>
        by.SendJsonAsync(HttpMethod.Post, $"{Address}/{swap}/accept", lesson is null ? null : new { lessonId = lesson });

    public static Task<HttpResponseMessage> DeclineAsync(HttpClient by, Guid swap, Guid? lesson = null) =>
        by.SendJsonAsync(HttpMethod.Post, $"{Address}/{swap}/decline", lesson is null ? null : new { lessonId = lesson });

    public Task<HttpResponseMessage> ApplyAsync(Guid swap, object? body = null) => Office.SendJsonAsync(HttpMethod.Post, $"{Address}/{swap}/apply", body);

    public Task<JsonElement> ReadAsync(Guid swap, HttpClient? by = null) => (by ?? Office).GetJsonAsync($"{Address}/{swap}");

    public Task<Lesson> LessonAsync(Guid id) => Host.WithDbAsync(db => db.Set<Lesson>().AsNoTracking().SingleAsync(l => l.Id == id));

    public Task<List<SwapAnswer>> AnswersAsync(Guid swap) => Host.WithDbAsync(db => db.Set<SwapAnswer>().AsNoTracking().Where(a => a.ProposalId == swap).ToListAsync());

    /// <summary>Who gives each of the three lessons, and when: as one word, to be compared.</summary>
    public async Task<string> PlacesAsync()
    {
        var lessons = new[] { await LessonAsync(Ten), await LessonAsync(Two), await LessonAsync(HalfPastOne) };
        return string.Join("; ", lessons.Select(l => $"{(l.InstructorId == Marigold.Id ? "Marigold" : "Bram")} {l.StartsAt.InZone(SchoolHost.London).TimeOfDay:HH:mm} {l.Minutes} {l.State}"));
    }

    public const string AsBooked = "Marigold 10:00 60 Booked; Marigold 14:00 60 Booked; Bram 13:30 120 Booked";

    public const string Swapped = "Bram 13:30 60 Booked; Marigold 14:00 60 Booked; Marigold 10:00 120 Booked";

    public async Task LapseAsync()
    {
        await using var scope = Host.Services.CreateAsyncScope();
        await scope.ServiceProvider.GetRequiredService<LapseSwaps>().RunAsync(CancellationToken.None);
    }

    /// <summary>The letters about a swap: of which kind, to whom.</summary>
    public async Task<List<Said>> LettersAsync(Guid swap) => await Host.SaidAsync(all => all.Where(m => m.AboutId == swap).OrderBy(m => m.Kind).ThenBy(m => m.ToName));

    public async ValueTask DisposeAsync()
    {
        Office.Dispose();
        AsTamsin.Dispose();
        AsWren.Dispose();
        await Host.DisposeAsync();
    }
}
