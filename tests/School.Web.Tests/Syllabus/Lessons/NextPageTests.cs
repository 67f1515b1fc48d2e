using System.Net;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Hours;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People;
using School.Web.Platform.Api;
using School.Web.Platform.Offline;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;

namespace School.Web.Tests.Syllabus.Lessons;

/// <summary>Monday 2 March 2026 once Idris's lesson of 10:15 to 11:30 is over.</summary>
public sealed class NextPageTests(TestPostgres postgres)
{
    private static readonly (string Name, string Start) Shown = ("start", "2026-03-09T10:15:00Z");

    [Fact]
    public async Task After_a_record_one_page_says_what_comes_next_and_books_the_same_time_next_week_once()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (day, browser, page, _) = await StartAsync(host);
        await browser.PostFormAsync($"/syllabus/lessons/{day.OnNow.Id}/record", ("Input.MinutesTaught", "75"), ("Input.Aim", "Spiral roundabouts."), ("Input.Version", "1"));
        var shown = await (await browser.GetAsync(page)).TextAsync();
        Assert.Contains("Spiral roundabouts.", shown, StringComparison.Ordinal);
        Assert.Contains("none booked", shown, StringComparison.Ordinal);
        Assert.Contains("Book Monday 9 March, 10:15 to 11:30", shown, StringComparison.Ordinal);
        Assert.Contains("Next: Wren Castellan at 11:45, Harbour Street", shown, StringComparison.Ordinal);

        var booked = await browser.PostFormAsync(page, Shown);
        Assert.Equal("/diary/day?date=2026-03-02", booked.Headers.Location?.ToString());
        Assert.Contains("Booked: Idris Bell, Monday 9 March, 10:15 to 11:30.", await (await browser.GetAsync("/diary/day")).TextAsync(), StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.Redirect, (await browser.PostFormAsync("/diary/time-off", page, Shown)).StatusCode);
        var lesson = Assert.Single(await NextWeekAsync(host));
        Assert.Equal((day.Idris.Id, day.Marigold.Id, 75, day.OnNow.PickUp), (lesson.PupilId, lesson.InstructorId, lesson.Minutes, lesson.PickUp));
        Assert.Contains("Monday 9 March, 10:15 to 11:30 is booked.", await (await browser.GetAsync(page)).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task What_is_not_possible_says_why_and_is_booked_by_no_press()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (day, browser, page, person) = await StartAsync(host);
        await host.AddAsync(new TimeOffRow { InstructorId = day.Marigold.Id, StartsAt = LarkfieldMonday.At(0, 0) + Duration.FromDays(7), EndsAt = LarkfieldMonday.At(0, 0) + Duration.FromDays(8), Reason = "course" });
        var shown = await (await browser.GetAsync(page)).TextAsync();
        Assert.Contains("Monday 9 March, 10:15 to 11:30 is not possible.", shown, StringComparison.Ordinal);
        Assert.DoesNotContain("Book Monday", shown, StringComparison.Ordinal);
        var pressed = await browser.PostFormAsync("/diary/time-off", page, Shown);
        Assert.Equal(HttpStatusCode.OK, pressed.StatusCode);
        Assert.Contains("class=\"problems\"", await pressed.TextAsync(), StringComparison.Ordinal);
        Assert.Empty(await NextWeekAsync(host));

        // A week later is past for what is recorded late.
        host.Clock.Reset(LarkfieldMonday.At(11, 0) + Duration.FromDays(7));
        using var later = await host.PagesAsAsync(person);
        Assert.Contains("A week later is past already.", await (await later.GetAsync(page)).TextAsync(), StringComparison.Ordinal);
    }

    /// <summary>Summer Time begins on Sunday 29 March 2026 (The Summer Time Act 1972, section 1): a week from Monday 23 March is 167 hours away, and 10:15 all the same.</summary>
    [Fact]
    public async Task Next_week_is_the_same_time_of_the_clock_also_where_the_clock_changes()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (day, _, page, person) = await StartAsync(host);
        var start = LarkfieldMonday.At(10, 15) + Duration.FromDays(21);
        await host.WithDbAsync(db => db.Set<Lesson>().Where(l => l.Id == day.OnNow.Id)
            .ExecuteUpdateAsync(set => set.SetProperty(l => l.StartsAt, start).SetProperty(l => l.EndsAt, start + Duration.FromMinutes(75))));
        host.Clock.Reset(start + Duration.FromMinutes(90));
        using var later = await host.PagesAsAsync(person);
        Assert.Contains("Book Monday 30 March, 10:15 to 11:30", await (await later.GetAsync(page)).TextAsync(), StringComparison.Ordinal);
        await later.PostFormAsync(page, ("start", "2026-03-30T09:15:00Z"));
        Assert.Equal(start + Duration.FromHours(167), (await host.WithDbAsync(db => db.Set<Lesson>().OrderByDescending(l => l.StartsAt).FirstAsync())).StartsAt);
    }

    [Fact]
    public async Task Sent_from_a_phone_it_takes_effect_once_and_only_as_who_pressed_it()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (_, browser, page, person) = await StartAsync(host);
        using var other = await host.PagesAsAsync(await host.Data.PersonAsync(await host.Data.InstructorAsync("Alder Quince")));
        Assert.Equal(HttpStatusCode.NotFound, (await other.GetAsync(page)).StatusCode);
        var token = await browser.FormTokenAsync(page);
        async Task<HttpResponseMessage> SendAsync(Guid writer, string key)
        {
            using var request = new HttpRequestMessage(HttpMethod.Post, page) { Content = new FormUrlEncodedContent([new("__RequestVerificationToken", token), new("start", Shown.Start)]) };
            request.Headers.Add(KeptOfflineAttribute.PersonHeader, writer.ToString());
            request.Headers.Add(Idempotency.Header, key);
            return await browser.SendAsync(request);
        }

        Assert.Equal(HttpStatusCode.Conflict, (await SendAsync(Guid.NewGuid(), "first")).StatusCode);
        Assert.Empty(await NextWeekAsync(host));
        foreach (var _ in new[] { 1, 2 })
        {
            var sent = await (await SendAsync(person.Id, "second")).JsonAsync();
            Assert.Equal(("sent", "/diary/day?date=2026-03-02"), (sent.Word("outcome"), sent.Word("next")));
        }

        Assert.Single(await NextWeekAsync(host));
    }

    /// <summary>A phone without signal sends the press later: what was moved meanwhile is not booked at another time than the button said.</summary>
    [Fact]
    public async Task A_press_books_the_time_that_the_button_said_or_nothing()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (day, browser, page, _) = await StartAsync(host);
        Assert.Contains($"name=\"start\" value=\"{Shown.Start}\"", await (await browser.GetAsync(page)).TextAsync(), StringComparison.Ordinal);
        var start = LarkfieldMonday.At(13, 0);
        await host.WithDbAsync(db => db.Set<Lesson>().Where(l => l.Id == day.OnNow.Id)
            .ExecuteUpdateAsync(set => set.SetProperty(l => l.StartsAt, start).SetProperty(l => l.EndsAt, start + Duration.FromMinutes(75))));
        host.Clock.Reset(LarkfieldMonday.At(14, 20));
        foreach (var fields in new (string, string)[][] { [Shown], [], [("start", "soon")] })
        {
            var pressed = await (await browser.PostFormAsync(page, fields)).TextAsync();
            Assert.Contains("A week after the lesson is Monday 9 March, 13:00 to 14:15, which is not the time that was to be booked. Nothing was booked.", pressed, StringComparison.Ordinal);
        }

        Assert.Empty(await NextWeekAsync(host));
        Assert.Equal(HttpStatusCode.Redirect, (await browser.PostFormAsync(page, ("start", "2026-03-09T13:00:00Z"))).StatusCode);
        Assert.Equal(start + Duration.FromDays(7), Assert.Single(await NextWeekAsync(host)).StartsAt);
    }

    private static async Task<(LarkfieldMonday Day, HttpClient Browser, string Page, Person Person)> StartAsync(SchoolHost host)
    {
        var day = await LarkfieldMonday.SeedAsync(host);
        host.Clock.Reset(LarkfieldMonday.At(11, 35));
        var person = await host.Data.PersonAsync(day.Marigold);
        return (day, await host.PagesAsAsync(person), LessonPages.Next(day.OnNow.Id), person);
    }

    private static Task<List<Lesson>> NextWeekAsync(SchoolHost host) =>
        host.WithDbAsync(db => db.Set<Lesson>().AsNoTracking().Where(l => l.StartsAt > LarkfieldMonday.At(0, 0) + Duration.FromDays(6)).ToListAsync());
}
