using System.Collections.Concurrent;
using System.Net;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using NodaTime.Testing;
using School.Tests;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Waiting;
using School.Web.Tests.Diary.Lessons;
using School.Web.Tests.Host;
using School.Web.Tests.Reliability;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.Waiting;

/// <summary>Many accept the same time at once, through two nodes, one of which is killed while they do.</summary>
public sealed class WaitingRaceTests(TestPostgres postgres)
{
    private const int Waiters = 12;

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public async Task Exactly_one_has_it(bool killOneNode)
    {
        await using var host = await SchoolHost.StartAsync(postgres, wallClock: true);
        var instructor = await host.Data.InstructorAsync();
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var date = SchoolHost.WallDate.PlusDays(3);
        var lesson = await office.BookedAsync((await host.Data.PupilAsync("Wren Castellan")).Id, instructor.Id, Reliability.RaceTests.StartOf(date, 10));
        await host.WithDbAsync(db => db.Set<WaitingSettings>().ExecuteUpdateAsync(set => set.SetProperty(s => s.AtOnce, Waiters)));
        var tokens = new List<string>();
        for (var n = 0; n < Waiters; n++)
        {
            var pupil = await host.Data.PupilAsync($"Pupil {n}");
            tokens.Add(await host.TokenAsync(await host.Data.PersonAsync(pupil)));
            await (await office.SendJsonAsync(HttpMethod.Post, "/api/v1/waiting-list", new
            {
                pupilId = pupil.Id,
                @for = "anyLesson",
                from = Text(date),
                to = Text(date.PlusDays(1)),
            })).JsonAsync(HttpStatusCode.Created);
        }

        await (await office.CancelAsync(lesson.Id())).JsonAsync();
        // Two workers at once make one round between them.
        await Task.WhenAll(RoundAsync(host), RoundAsync(host));
        var offers = await host.WithDbAsync(db => db.Set<OfferedSlot>().AsNoTracking().OrderBy(o => o.OfferedAt).ToListAsync());
        Assert.Equal(Waiters, offers.Select(o => o.PupilId).Distinct().Count());
        Assert.Equal(Waiters, offers.Count);

        await using var first = await RunningNode.StartAsync(host.ServiceConnectionString);
        await using var second = await RunningNode.StartAsync(host.ServiceConnectionString);
        var answers = new ConcurrentBag<HttpStatusCode>();
        var pressing = tokens.Select(async (token, n) =>
        {
            using var http = (n % 2 == 0 ? first : second).Client(token);
            try
            {
                var mine = (await http.GetJsonAsync("/api/v1/offers")).GetProperty("items")[0].Id();
                using var answer = await http.PostAsync($"/api/v1/offers/{mine}/accept", null);
                answers.Add(answer.StatusCode);
            }
            catch (HttpRequestException) when (killOneNode && n % 2 == 1)
            {
                // This node was killed under the request: whether it was accepted is for the database to say.
            }
        }).ToList();
        if (killOneNode)
        {
            await Task.WhenAny(pressing);
            await second.DisposeAsync();
        }

        await Task.WhenAll(pressing);
        Assert.All(answers, status => Assert.Contains(status, new[] { HttpStatusCode.OK, HttpStatusCode.Conflict }));
        Assert.InRange(answers.Count(status => status == HttpStatusCode.OK), killOneNode ? 0 : 1, 1);
        Assert.Equal(1, await host.WithDbAsync(db => db.Set<OfferedSlot>().CountAsync(o => o.State == OfferState.Accepted)));
        Assert.Equal(1, await host.WithDbAsync(db => db.Set<Lesson>().CountAsync(l => l.State == LessonState.Booked)));
        Assert.Equal(1, await host.WithDbAsync(db => db.Set<WaitingEntry>().CountAsync(w => w.State == WaitingState.Served)));
        Assert.Equal(0, await host.WithDbAsync(db => db.Database.SqlQueryRaw<int>(Reliability.RaceTests.Overlaps).SingleAsync()));
    }

    private static async Task RoundAsync(SchoolHost host)
    {
        // Offers are made by day, and the nodes that answer them go by the wall clock: the round is that of the coming noon.
        var zone = DateTimeZoneProviders.Tzdb["Europe/London"];
        var now = host.Services.GetRequiredService<IClock>().GetCurrentInstant();
        var today = now.InZone(zone).Date.At(LocalTime.Noon).InZoneStrictly(zone).ToInstant();
        await using var scope = host.Services.CreateAsyncScope();
        var round = ActivatorUtilities.CreateInstance<OfferFreedSlots>(scope.ServiceProvider, new FakeClock(now < today ? today : today + Duration.FromDays(1)));
        await round.RunAsync(TestContext.Current.CancellationToken);
    }
}
