using Microsoft.EntityFrameworkCore;
using School.Tests;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Pupils;
using School.Web.Tests.Host;

namespace School.Browser.Tests;

/// <summary>Snow at 10:45 on a Monday: what is left of the day is stopped, and who was not reached is rung.</summary>
public sealed class SnowDayJourneyTests(TestPostgres postgres, Chromium chromium)
{
    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task The_rest_of_a_day_is_stopped_and_two_who_were_not_reached_are_rung_and_ticked_off(bool javaScript)
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var url = host.Url;
        var day = await LarkfieldMonday.SeedAsync(host, others: 1);
        await host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Name == "Wren Castellan" || p.Name == "Marlo Fenn").ExecuteUpdateAsync(set => set.SetProperty(p => p.Email, "")));
        await using var walk = await Walk.StartAsync(chromium, url, Screen.Phone with { JavaScript = javaScript });
        await walk.SignInAsync(await host.Data.OfficeAsync());
        await walk.Page.GotoAsync("/diary/board");
        await walk.PressAsync("Stop lessons");
        await walk.ExpectAccessibleAsync();
        await walk.ExpectNoSidewaysScrollAsync();
        await walk.PressAsync("See which lessons");
        var shown = await walk.Page.Locator("main").InnerTextAsync();
        Assert.Contains("This lesson has begun.", shown, StringComparison.Ordinal);
        await walk.ExpectAccessibleAsync();
        await walk.ExpectNoSidewaysScrollAsync();
        await walk.PressAsync("Cancel 3 lessons");

        var calls = walk.Page.Locator("#calls");
        Assert.Contains("Wren Castellan", await calls.InnerTextAsync(), StringComparison.Ordinal);
        Assert.Contains("no e-mail address", await calls.InnerTextAsync(), StringComparison.Ordinal);
        Assert.Equal(2, await calls.GetByRole(Microsoft.Playwright.AriaRole.Button).CountAsync());
        Assert.Equal(2, await calls.Locator("a[href^='tel:']").CountAsync());
        await walk.ExpectAccessibleAsync();
        await walk.ExpectNoSidewaysScrollAsync();
        await calls.GetByRole(Microsoft.Playwright.AriaRole.Button).First.ClickAsync();
        Assert.Contains("✓ rung", await calls.InnerTextAsync(), StringComparison.Ordinal);
        await calls.GetByRole(Microsoft.Playwright.AriaRole.Button).First.ClickAsync();
        Assert.Equal(0, await calls.GetByRole(Microsoft.Playwright.AriaRole.Button).CountAsync());
        var lessons = await host.WithDbAsync(db => db.Set<Lesson>().AsNoTracking().ToListAsync());
        Assert.Equal(3, lessons.Count(lesson => lesson is { State: LessonState.Cancelled, CancelledBecause: CancelReason.Weather, Chargeable: false }));
        Assert.Equal(LessonState.Booked, lessons.Single(lesson => lesson.Id == day.OnNow.Id).State);
    }
}
