using Microsoft.EntityFrameworkCore;
using Microsoft.Playwright;
using NodaTime;
using School.Tests;
using School.Web.Modules.Cars;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Messages;
using School.Web.Modules.Pupils;
using School.Web.Tests.Host;

namespace School.Browser.Tests;

public sealed class DayOrderJourneyTests(TestPostgres postgres, Chromium chromium)
{
    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task An_instructor_who_runs_late_tells_the_next_pupil_with_two_taps(bool javaScript)
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var url = host.Url;
        var day = await LarkfieldMonday.SeedAsync(host);
        await using var walk = await Walk.StartAsync(chromium, url, Screen.Phone with { JavaScript = javaScript });
        await walk.SignInAsync(await host.Data.PersonAsync(day.Marigold));

        await walk.Page.GotoAsync("/diary/day");
        await walk.Page.GetByRole(AriaRole.Link, new() { Name = "20 minutes late" }).ClickAsync();
        Assert.StartsWith("Park safely first.", (await walk.Page.Locator("main .warning").InnerTextAsync()).Trim(), StringComparison.Ordinal);
        Assert.Contains("Wren Castellan", await walk.Page.Locator("main table").InnerTextAsync(), StringComparison.Ordinal);
        await ExpectFineAsync(walk, javaScript);
        await walk.PressAsync("Tell Wren Castellan");

        Assert.Contains("Told by e-mail: Wren Castellan.", await walk.Page.GetByRole(AriaRole.Status).InnerTextAsync(), StringComparison.Ordinal);
        var card = await walk.Page.Locator(".strip .stop", new() { HasText = "Wren Castellan" }).InnerTextAsync();
        Assert.Contains("minutes late, told", card, StringComparison.Ordinal);
        await ExpectFineAsync(walk, javaScript);
        Assert.Equal(1, await host.WithDbAsync(db => db.Set<Message>().CountAsync(m => m.AboutId == day.Tight.Id)));
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task A_pupil_says_when_they_can_come_and_the_instructor_takes_the_better_order(bool javaScript)
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var url = host.Url;
        var marigold = await host.Data.InstructorAsync("Marigold Ashby");
        var car = await host.WithDbAsync(db => db.Set<Car>().AsNoTracking().SingleAsync());
        var (far, near) = (TestData.PlaceAt(30, label: "Weir Road"), TestData.PlaceAt(2));
        var (tamsin, bryony, corin) = (await host.Data.PupilAsync("Tamsin Oakley", far), await host.Data.PupilAsync("Bryony Hale", near), await host.Data.PupilAsync("Corin Vale", far));
        await host.AddAsync(Book(tamsin, 9, 0), Book(bryony, 10, 30), Book(corin, 12, 0));

        await using (var pupil = await Walk.StartAsync(chromium, url, Screen.Phone with { JavaScript = javaScript }))
        {
            await pupil.SignInAsync(await host.Data.PersonAsync(bryony));
            await pupil.Page.GotoAsync("/pupils/me");
            await pupil.PressAsync("Your weekly times");
            await pupil.Page.GetByLabel("Thursday").CheckAsync();
            await pupil.Page.GetByLabel("From").FillAsync("12:00");
            await pupil.Page.GetByLabel("To", new() { Exact = true }).FillAsync("18:00");
            await pupil.PressAsync("Add time");
            Assert.Contains("12:00 to 18:00", await pupil.Page.Locator("main table").InnerTextAsync(), StringComparison.Ordinal);
            await ExpectFineAsync(pupil, javaScript);
        }

        await using var walk = await Walk.StartAsync(chromium, url, Screen.Phone with { JavaScript = javaScript });
        await walk.SignInAsync(await host.Data.PersonAsync(marigold));
        await walk.Page.GotoAsync("/diary/day?date=2026-03-05");
        await walk.PressAsync("Better order");
        Assert.Contains("less driving.", await walk.Page.Locator("main .lead").InnerTextAsync(), StringComparison.Ordinal);
        Assert.Equal(2, await walk.Page.Locator("main table").CountAsync());
        await ExpectFineAsync(walk, javaScript);
        await walk.PressAsync("Move 1 lesson");

        Assert.Contains("1 lesson moved. The pupils are told.", await walk.Page.GetByRole(AriaRole.Status).InnerTextAsync(), StringComparison.Ordinal);
        var stops = await walk.Page.Locator(".strip .stop h2 a").AllInnerTextsAsync();
        Assert.Equal(["Tamsin Oakley", "Corin Vale", "Bryony Hale"], stops);
        await walk.PressAsync("Better order");
        Assert.Contains("No better order", await walk.Page.Locator("main .nothing").InnerTextAsync(), StringComparison.Ordinal);

        Lesson Book(Pupil who, int hour, int minute)
        {
            var start = new LocalDate(2026, 3, 5).At(new(hour, minute)).InZoneStrictly(SchoolHost.London).ToInstant();
            return Lesson.Book(who.Id, marigold.Id, car.Id, new(start, start + Duration.FromHours(1)), who.PickUp, who.PickUp, host.Clock.GetCurrentInstant());
        }
    }

    /// <summary>The checks are scripts themselves.</summary>
    private static async Task ExpectFineAsync(Walk walk, bool javaScript)
    {
        if (javaScript)
        {
            await walk.ExpectAccessibleAsync();
            await walk.ExpectNoSidewaysScrollAsync();
        }
    }
}
