using Microsoft.Playwright;
using School.Core.Syllabus;
using School.Tests;
using School.Web.Tests.Host;

namespace School.Browser.Tests;

public sealed class ProgressJourneyTests(TestPostgres postgres, Chromium chromium)
{
    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task A_pupil_looks_at_the_way_so_far_logs_a_drive_and_sees_the_total_move(bool javaScript)
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var url = host.Url;
        var pupil = await host.Data.PupilAsync();
        await host.TaughtAsync(pupil, await host.Data.InstructorAsync(), 0, "Mirrors came by themselves.", 1, ("mirrors", SkillLevel.Helped));
        await host.TaughtAsync(pupil, await host.Data.InstructorAsync("Alder Fenwick"), 50, "Well done.", 1, ("mirrors", SkillLevel.Independent));
        await using var walk = await Walk.StartAsync(chromium, url, Screen.Phone with { JavaScript = javaScript });
        await walk.SignInAsync(await host.Data.PersonAsync(pupil));

        await walk.Page.GotoAsync("/diary/home");
        await walk.PressAsync("Progress");
        var way = walk.Page.GetByRole(AriaRole.List, new() { Name = "The syllabus in order" });
        Assert.Contains("Independent", await way.GetByRole(AriaRole.Listitem).Filter(new() { HasText = "Mirrors" }).InnerTextAsync(), StringComparison.Ordinal);
        await ShowAsync(walk, "progress-phone");
        await walk.PressAsync("Mirrors – vision and use");
        Assert.Contains("Alder Fenwick", await walk.Page.Locator("main").InnerTextAsync(), StringComparison.Ordinal);
        await ShowAsync(walk, "progress-skill");
        await walk.Page.GoBackAsync();

        await walk.PressAsync("Private practice");
        await ShowAsync(walk, "practice");
        await walk.PressAsync("Log a drive");
        await walk.Page.GetByLabel("Driven").FillAsync("45");
        await walk.PressAsync("Log this drive");
        await walk.Page.GetByLabel("Who sat beside you").FillAsync("Fern Oakley");
        await walk.Page.GetByLabel("In the dark", new() { Exact = true }).CheckAsync();
        await ShowAsync(walk, "practice-new");
        await walk.PressAsync("Log this drive");
        Assert.Contains("Logged: 45 min", await walk.Page.GetByRole(AriaRole.Status).First.InnerTextAsync(), StringComparison.Ordinal);
        await walk.PressAsync("Your progress");
        Assert.Contains("45 min", await walk.Page.Locator(".facts").InnerTextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_office_renames_a_skill_and_the_old_record_keeps_the_old_name()
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var url = host.Url;
        var pupil = await host.Data.PupilAsync();
        await host.TaughtAsync(pupil, await host.Data.InstructorAsync(), 0, "", 1, ("signals", SkillLevel.Helped));
        await using var walk = await Walk.StartAsync(chromium, url, Screen.Desk);
        await walk.SignInAsync(await host.Data.OfficeAsync());

        await walk.Page.GotoAsync("/people/school");
        await walk.PressAsync("Syllabus");
        await ShowAsync(walk, "syllabus-settings");
        await walk.PressAsync("Read and change the syllabus");
        await ShowAsync(walk, "syllabus");
        await walk.Page.GetByRole(AriaRole.Link, new() { Name = "Signals", Exact = true }).ClickAsync();
        await ShowAsync(walk, "syllabus-skill");
        await walk.PressAsync("Change");
        await ShowAsync(walk, "syllabus-change");
        await walk.Page.GetByLabel("Name", new() { Exact = true }).FillAsync("Signalling");
        await walk.PressAsync("Save as a new edition");
        Assert.Contains("Saved as edition 2.", await walk.Page.GetByRole(AriaRole.Status).First.InnerTextAsync(), StringComparison.Ordinal);

        await walk.Page.GotoAsync("/syllabus/arrange");
        await ShowAsync(walk, "syllabus-arrange");
        await walk.PressAsync("Retire Fuel-efficient driving");
        await walk.Page.GotoAsync("/syllabus/editions");
        await ShowAsync(walk, "syllabus-editions");
        Assert.Contains("Renamed “Signals” to “Signalling”.", await walk.Page.Locator("main").InnerTextAsync(), StringComparison.Ordinal);

        await walk.Page.GotoAsync($"/pupils/{pupil.Id}");
        await walk.PressAsync("Progress");
        await ShowAsync(walk, "progress-desk");
        await walk.PressAsync("Whole record");
        Assert.Contains("Signals: Helped", await walk.Page.Locator(".lesson-record").InnerTextAsync(), StringComparison.Ordinal);
        await ShowAsync(walk, "record");
    }

    /// <summary>Checks the page, and keeps its picture where a folder for pictures is named.</summary>
    private static async Task ShowAsync(Walk walk, string name)
    {
        await walk.ExpectAccessibleAsync();
        await walk.ExpectNoSidewaysScrollAsync();
        if (Environment.GetEnvironmentVariable("SCHOOL_SHOTS") is { Length: > 0 } folder)
        {
            await walk.Page.ScreenshotAsync(new() { Path = Path.Combine(folder, $"{name}.png"), FullPage = true });
            await walk.Page.EmulateMediaAsync(new() { Media = Media.Print });
            await walk.Page.ScreenshotAsync(new() { Path = Path.Combine(folder, $"{name}-print.png"), FullPage = true });
            await walk.Page.EmulateMediaAsync(new() { Media = Media.Screen });
        }
    }
}
