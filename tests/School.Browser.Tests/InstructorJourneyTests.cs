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

        await walk.Page.WaitForURLAsync($"**/syllabus/lessons/{day.OnNow.Id}/next");
        Assert.Contains("Recorded: Idris Bell, 1 h 10 min taught.", await walk.Page.GetByRole(Microsoft.Playwright.AriaRole.Status).InnerTextAsync(), StringComparison.Ordinal);
        await walk.ExpectAccessibleAsync();
        await walk.ExpectNoSidewaysScrollAsync();
        await walk.PressAsync("Book Monday 9 March, 10:15 to 11:30");
        await walk.Page.WaitForURLAsync("**/diary/day?date=2026-03-02");
        Assert.Contains("Booked: Idris Bell, Monday 9 March, 10:15 to 11:30.", await walk.Page.GetByRole(Microsoft.Playwright.AriaRole.Status).InnerTextAsync(), StringComparison.Ordinal);
        await walk.Page.GetByText("Earlier today: 2 stops").ClickAsync();
        var card = await walk.Page.Locator(".strip .stop", new() { HasText = "Idris Bell" }).InnerTextAsync();
        Assert.Contains("taught", card, StringComparison.Ordinal);
        Assert.Contains("1 h 10 min of 1¼ hours", card, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task Late_in_a_gap_the_day_offers_the_minutes_that_are_due_and_the_pupil_is_told(bool javaScript)
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var url = host.Url;
        var day = await LarkfieldMonday.SeedAsync(host);
        await using var walk = await Walk.StartAsync(chromium, url, Screen.Phone with { JavaScript = javaScript });
        await walk.SignInAsync(await host.Data.PersonAsync(day.Marigold));
        host.Clock.Reset(LarkfieldMonday.At(15, 44));
        await walk.Page.GotoAsync("/diary/day");
        var box = walk.Page.Locator(".glance");
        Assert.Contains("If you leave now, it starts at about", await box.InnerTextAsync(), StringComparison.Ordinal);
        await walk.ExpectAccessibleAsync();
        await walk.ExpectNoSidewaysScrollAsync();
        await box.GetByRole(Microsoft.Playwright.AriaRole.Link, new() { NameRegex = new("minutes late$") }).First.ClickAsync();
        Assert.Contains("Nothing is on, so Marlo Fenn is the one who waits", await walk.Page.Locator("main").InnerTextAsync(), StringComparison.Ordinal);
        await walk.ExpectAccessibleAsync();
        await walk.PressAsync("Tell Marlo Fenn");
        Assert.Contains("Told: about", await walk.Page.Locator(".glance").InnerTextAsync(), StringComparison.Ordinal);

        // From the start on it is on by the clock; that it has not begun is one tap.
        host.Clock.Reset(LarkfieldMonday.At(16, 30));
        await walk.Page.GotoAsync("/diary/day");
        await walk.PressAsync("It has not begun");
        await walk.Page.GetByRole(Microsoft.Playwright.AriaRole.Link, new() { Name = "60 minutes" }).ClickAsync();
        await walk.PressAsync("Tell Marlo Fenn");
        Assert.Contains("Told by e-mail: Marlo Fenn.", await walk.Page.GetByRole(Microsoft.Playwright.AriaRole.Status).InnerTextAsync(), StringComparison.Ordinal);
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
            $"/syllabus/lessons/{day.OnNow.Id}/record", $"/syllabus/lessons/{day.OnNow.Id}/next", $"/syllabus/mocks/new?pupil={day.Idris.Id}", $"/diary/lessons/{day.OnNow.Id}/missed", $"/diary/lessons/new?pupilId={day.Idris.Id}",
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
