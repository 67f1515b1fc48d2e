using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Playwright;
using School.Tests;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Events;
using School.Web.Modules.Diary.Hours;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People;
using School.Web.Tests.Host;

namespace School.Browser.Tests;

/// <summary>Pages that stay open show what others change.</summary>
public sealed class LivePagesTests(TestPostgres postgres, Chromium chromium)
{
    private const string Listens = "html[data-listens=yes]";

    [Fact]
    public async Task Two_who_look_at_the_board_on_two_nodes_see_each_others_change_and_keep_their_place()
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        await FullBoard.SeedAsync(host, 8);
        await using var second = host.SecondListening();
        var ahead = await host.WithDbAsync(db => db.Set<Lesson>().AsNoTracking().Where(l => l.State == LessonState.Booked).OrderByDescending(l => l.StartsAt).ToListAsync());
        await using var here = await Walk.StartAsync(chromium, host.Url, Screen.Desk);
        await using var there = await Walk.StartAsync(chromium, second.Url, Screen.Desk);
        await here.SignInAsync(await host.Data.OfficeAsync("Rosalind Pike"));
        await there.SignInAsync(await host.Data.OfficeAsync("Corin Marsh"));
        await there.Page.GotoAsync("/diary/board");
        await there.Page.Locator(Listens).WaitForAsync();
        var summary = there.Page.Locator("main .summary").First;
        await Assertions.Expect(summary).ToContainTextAsync("32 lessons");
        // One that is drawn anew keeps the focus and is the same page.
        var kept = there.Page.Locator(".lanes h2 a").Nth(3);
        var address = await kept.GetAttributeAsync("href");
        await kept.FocusAsync();
        await there.Page.EvaluateAsync("() => { window.stays = true; scrollTo(0, 40); }");

        await here.Page.GotoAsync($"/diary/lessons/{ahead[0].Id}/cancel");
        await here.Page.GetByLabel("weather").Or(here.Page.GetByRole(AriaRole.Radio)).First.CheckAsync();
        await here.PressAsync("Continue");
        await here.PressAsync("Cancel lesson");

        await Assertions.Expect(summary).ToContainTextAsync("31 lessons");
        Assert.Equal(address, await there.Page.EvaluateAsync<string>("document.activeElement.getAttribute('href')"));
        Assert.True(await there.Page.EvaluateAsync<bool>("window.stays"));
        var name = (await host.WithDbAsync(db => db.Set<Instructor>().AsNoTracking().SingleAsync(i => i.Id == ahead[0].InstructorId))).Name;
        await Assertions.Expect(there.Page.Locator("p.live")).ToHaveTextAsync($"Changed: {name}.");
        await Assertions.Expect(there.Page.Locator(".lanes > .just-changed")).ToHaveCountAsync(1);
        await there.ExpectAccessibleAsync();

        // And the other way.
        await here.Page.GotoAsync("/diary/board");
        await here.Page.Locator(Listens).WaitForAsync();
        await Assertions.Expect(here.Page.Locator("main .summary").First).ToContainTextAsync("31 lessons");
        await there.Page.GotoAsync($"/diary/lessons/{ahead[1].Id}/cancel");
        await there.Page.GetByRole(AriaRole.Radio).First.CheckAsync();
        await there.PressAsync("Continue");
        await there.PressAsync("Cancel lesson");
        await Assertions.Expect(here.Page.Locator("main .summary").First).ToContainTextAsync("30 lessons");
    }

    [Fact]
    public async Task Whoever_types_is_left_alone_and_a_page_that_nobody_looks_at_listens_to_nothing()
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        await FullBoard.SeedAsync(host, 2);
        await using var walk = await Walk.StartAsync(chromium, host.Url, Screen.Desk);
        await walk.SignInAsync(await host.Data.OfficeAsync());
        await walk.Page.GotoAsync("/diary/board");
        await walk.Page.Locator(Listens).WaitForAsync();
        var summary = walk.Page.Locator("main .summary").First;
        await walk.Page.EvaluateAsync("() => { const field = document.createElement('input'); field.id = 'typed'; document.querySelector('[data-part=day]').prepend(field); field.focus(); }");
        await TakeOneAwayAsync(host);
        await walk.Page.WaitForTimeoutAsync(1500);
        Assert.Contains("8 lessons", await summary.InnerTextAsync(), StringComparison.Ordinal);
        await walk.Page.EvaluateAsync("document.getElementById('typed').blur()");
        await Assertions.Expect(summary).ToContainTextAsync("7 lessons");

        var live = host.Services.GetRequiredService<LiveDays>();
        await HideAsync(walk.Page, hidden: true);
        for (var n = 0; live.Streams > 0 && n < 100; n++)
        {
            await Task.Delay(50);
        }

        Assert.Equal(0, live.Streams);
        await TakeOneAwayAsync(host);
        await HideAsync(walk.Page, hidden: false);
        await Assertions.Expect(summary).ToContainTextAsync("6 lessons");
    }

    [Fact]
    public async Task What_the_service_could_not_give_just_then_is_asked_for_again()
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        await FullBoard.SeedAsync(host, 2);
        await using var walk = await Walk.StartAsync(chromium, host.Url, Screen.Desk);
        await walk.SignInAsync(await host.Data.OfficeAsync());
        await walk.Page.GotoAsync("/diary/board");
        await walk.Page.Locator(Listens).WaitForAsync();
        var asked = 0;
        await walk.Page.RouteAsync("**/diary/board", route => route.Request.ResourceType != "fetch" ? route.ContinueAsync() : ++asked switch
        {
            1 => route.FulfillAsync(new() { Status = 429 }),
            2 => route.AbortAsync(),
            _ => route.ContinueAsync(),
        });
        await TakeOneAwayAsync(host);
        await Assertions.Expect(walk.Page.Locator("main .summary").First).ToContainTextAsync("7 lessons", new() { Timeout = 15_000 });
        Assert.Equal(3, asked);
    }

    [Theory]
    [InlineData("/diary/day", "[data-part=now] .summary", "4 lessons", "3 lessons")]
    [InlineData("/diary/week", "[data-part=week]", "4 lessons", "3 lessons")]
    public async Task An_instructors_own_page_follows_what_the_office_changes(string address, string part, string before, string after)
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        await FullBoard.SeedAsync(host, 1);
        var instructor = await host.WithDbAsync(db => db.Set<Instructor>().AsNoTracking().SingleAsync());
        await using var walk = await Walk.StartAsync(chromium, host.Url, Screen.Phone);
        await walk.SignInAsync(await host.Data.PersonAsync(instructor));
        await walk.Page.GotoAsync(address);
        await walk.Page.Locator(Listens).WaitForAsync();
        await Assertions.Expect(walk.Page.Locator(part)).ToContainTextAsync(before);
        await TakeOneAwayAsync(host);
        await Assertions.Expect(walk.Page.Locator(part)).ToContainTextAsync(after);
        await walk.ExpectNoSidewaysScrollAsync();
        await walk.ExpectAccessibleAsync();
    }

    [Fact]
    public async Task What_needs_attention_goes_away_by_itself()
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        await FullBoard.SeedAsync(host, 2);
        await using var walk = await Walk.StartAsync(chromium, host.Url, Screen.Desk);
        await walk.SignInAsync(await host.Data.OfficeAsync());
        await walk.Page.GotoAsync("/diary/attention");
        await walk.Page.Locator(Listens).WaitForAsync();
        // A lesson stands in somebody's time off.
        var items = await walk.Page.Locator(".to-do li").CountAsync();
        Assert.True(items > 0);
        await host.WithDbAsync(db => db.Set<TimeOffRow>().ExecuteDeleteAsync());
        await Assertions.Expect(walk.Page.Locator(".to-do li")).Not.ToHaveCountAsync(items);
    }

    private static Task<int> TakeOneAwayAsync(SchoolHost host) => host.WithDbAsync(async db =>
    {
        var last = await db.Set<Lesson>().Where(l => l.State == LessonState.Booked).OrderByDescending(l => l.StartsAt).Select(l => l.Id).FirstAsync();
        return await db.Set<Lesson>().Where(l => l.Id == last).ExecuteDeleteAsync();
    });

    private static async Task HideAsync(IPage page, bool hidden) => await page.EvaluateAsync(
        "hidden => { Object.defineProperty(document, 'hidden', { configurable: true, get: () => hidden }); document.dispatchEvent(new Event('visibilitychange')); }", hidden);
}
