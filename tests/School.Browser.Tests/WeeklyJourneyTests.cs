using Microsoft.Playwright;
using School.Tests;
using School.Web.Tests.Host;

namespace School.Browser.Tests;

public sealed class WeeklyJourneyTests(TestPostgres postgres, Chromium chromium)
{
    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task The_office_books_four_weeks_moves_all_that_follow_and_cancels_them(bool javaScript)
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var url = host.Url;
        var instructor = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync(instructor: instructor.Id);
        await using var walk = await Walk.StartAsync(chromium, url, Screen.Phone with { JavaScript = javaScript });
        await walk.SignInAsync(await host.Data.OfficeAsync());

        await walk.Page.GotoAsync($"/diary/lessons/new?pupilId={pupil.Id}");
        await walk.PressAsync("The same time every week");
        await walk.ExpectAccessibleAsync();
        await walk.Page.GetByLabel("Day of the week").SelectOptionAsync("Thursday");
        await walk.Page.GetByLabel("Start", new() { Exact = true }).FillAsync("10:00");
        await walk.Page.GetByLabel("For").FillAsync("4");
        await walk.PressAsync("Show the dates");
        Assert.Contains("All of them fit.", await walk.Page.Locator("main").InnerTextAsync(), StringComparison.Ordinal);
        await walk.ExpectAccessibleAsync();
        await walk.ExpectNoSidewaysScrollAsync();
        await walk.PressAsync("Book the ticked dates");
        Assert.Contains("4 lessons booked", await StatusAsync(walk), StringComparison.Ordinal);

        await walk.PressAsync("Move this and all after it");
        await walk.Page.GetByLabel("This one moves to").FillAsync("2026-03-06");
        await walk.Page.GetByLabel("Start", new() { Exact = true }).FillAsync("11:00");
        await walk.PressAsync("Show what that means");
        await walk.ExpectAccessibleAsync();
        await walk.PressAsync("Move the ticked lessons");
        Assert.Contains("4 lessons moved, the first now Friday 6 March, 11:00", await StatusAsync(walk), StringComparison.Ordinal);

        await walk.PressAsync("Cancel this and all after it");
        await walk.Page.GetByLabel("The weather").CheckAsync();
        await walk.PressAsync("Continue");
        await walk.ExpectAccessibleAsync();
        await walk.PressAsync("Cancel all 4 lessons");
        Assert.Contains("4 lessons cancelled", await StatusAsync(walk), StringComparison.Ordinal);
    }

    private static Task<string> StatusAsync(Walk walk) => walk.Page.GetByRole(AriaRole.Status).First.InnerTextAsync();
}
