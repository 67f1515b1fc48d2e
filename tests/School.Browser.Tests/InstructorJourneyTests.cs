using School.Tests;
using School.Web.Tests.Host;

namespace School.Browser.Tests;

public sealed class InstructorJourneyTests(TestPostgres postgres, Chromium chromium)
{
    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task An_instructor_opens_the_day_and_records_the_lesson_that_is_on(bool javaScript)
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var url = host.Url;
        var day = await LarkfieldMonday.SeedAsync(host);
        await using var walk = await Walk.StartAsync(chromium, url, Screen.Phone with { JavaScript = javaScript });
        await walk.SignInAsync(await host.Data.PersonAsync(day.Marigold));

        await walk.Page.GotoAsync("/diary/day");
        Assert.Contains("Idris Bell until 11:30", await walk.Page.Locator(".glance").InnerTextAsync(), StringComparison.Ordinal);
        Assert.Equal(0, await walk.Page.GetByRole(Microsoft.Playwright.AriaRole.Link, new() { Name = "Record when parked" }).CountAsync());
        host.Clock.Reset(LarkfieldMonday.At(11, 31));
        await walk.Page.ReloadAsync();
        await walk.Page.GetByRole(Microsoft.Playwright.AriaRole.Link, new() { Name = "Record when parked" }).ClickAsync();
        Assert.Equal("Park safely and legally, then record.", (await walk.Page.Locator("main .warning").InnerTextAsync()).Trim());
        await walk.Page.GetByLabel("Minutes taught").FillAsync("70");
        await walk.Page.GetByLabel("One sentence for the pupil").FillAsync("Roundabouts without a prompt.");
        await walk.PressAsync("Record as taught");

        await walk.Page.WaitForURLAsync("**/diary/day?date=2026-03-02");
        Assert.Contains("Recorded: Idris Bell, 70 minutes taught.", await walk.Page.GetByRole(Microsoft.Playwright.AriaRole.Status).InnerTextAsync(), StringComparison.Ordinal);
        var card = await walk.Page.Locator(".strip .stop", new() { HasText = "Idris Bell" }).InnerTextAsync();
        Assert.Contains("taught", card, StringComparison.Ordinal);
        Assert.Contains("70 of 75 min", card, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public async Task Every_page_of_an_instructor_is_accessible_and_fits_a_narrow_phone(bool dark)
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var url = host.Url;
        var day = await LarkfieldMonday.SeedAsync(host);
        await using var walk = await Walk.StartAsync(chromium, url, new Screen(320, 800, dark));
        await walk.SignInAsync(await host.Data.PersonAsync(day.Marigold));
        foreach (var page in new[]
        {
            "/diary/day", "/diary/day?date=2026-03-04", "/diary/week", "/diary/hours", "/diary/hours-span", "/diary/time-off",
            $"/syllabus/lessons/{day.OnNow.Id}/record", $"/diary/lessons/{day.OnNow.Id}/missed", $"/diary/lessons/new?pupilId={day.Idris.Id}",
        })
        {
            await walk.Page.GotoAsync(page);
            await walk.ExpectAccessibleAsync();
            await walk.ExpectNoSidewaysScrollAsync();
        }
    }

    [Fact]
    public async Task The_day_sheet_prints_on_one_side_of_A4()
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var url = host.Url;
        var day = await LarkfieldMonday.SeedAsync(host);
        await using var walk = await Walk.StartAsync(chromium, url, Screen.Desk);
        await walk.SignInAsync(await host.Data.PersonAsync(day.Marigold));
        await walk.Page.GotoAsync("/diary/day");
        var pdf = System.Text.Encoding.Latin1.GetString(await walk.Page.PdfAsync(new() { Format = "A4" }));
        Assert.Single(System.Text.RegularExpressions.Regex.Matches(pdf, @"/Type\s*/Page\b"));
    }
}
