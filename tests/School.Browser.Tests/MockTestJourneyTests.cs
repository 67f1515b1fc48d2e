using Microsoft.EntityFrameworkCore;
using Microsoft.Playwright;
using School.Core.Syllabus.Mocks;
using School.Tests;
using School.Web.Modules.Syllabus.Mocks;
using School.Web.Tests.Host;
using static Microsoft.Playwright.Assertions;

namespace School.Browser.Tests;

/// <summary>A mock test from the pupil's page to what the pupil reads, on a phone 390 px wide, with and without scripts.</summary>
public sealed class MockTestJourneyTests(TestPostgres postgres, Chromium chromium)
{
    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task An_instructor_taps_a_mock_test_together_and_the_pupil_reads_it(bool javaScript)
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var url = host.Url;
        var instructor = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync(instructor: instructor.Id);
        await using var phone = await Walk.StartAsync(chromium, url, Screen.Phone with { JavaScript = javaScript });
        await phone.SignInAsync(await host.Data.PersonAsync(instructor));
        var page = phone.Page;
        await page.GotoAsync($"/pupils/{pupil.Id}");
        await phone.PressAsync("Mock tests");
        await phone.PressAsync("Record a mock test");
        await Expect(page.Locator(".warning")).ToContainTextAsync("Record it parked afterwards");
        await LooksRightAsync(phone);
        await phone.PressAsync("Begin");

        var running = page.Locator(".running");
        await TapAsync(page, "Driving fault, Junctions: observation");
        await Expect(running).ToContainTextAsync("1 driving, 0 serious, 0 dangerous");
        if (javaScript)
        {
            // The page stays where it was, and the same button is at hand for the next one.
            await Expect(page.Locator("#most-21-observation-Dr")).ToBeFocusedAsync();
            await page.GetByLabel("Find a heading").FillAsync("timed");
            await Expect(page.GetByRole(AriaRole.Button, new() { Name = "Driving fault, Junctions: observation" })).ToHaveCountAsync(0);
        }

        await TapAsync(page, "Serious fault, Signals: timed");
        await Expect(running).ToContainTextAsync("Would not pass: a serious fault");
        await page.GetByRole(AriaRole.Button, new() { Name = "Undo" }).ClickAsync();
        await Expect(running).ToContainTextAsync("1 driving, 0 serious, 0 dangerous");
        await Expect(running).ToContainTextAsync("Would pass so far");
        await page.GetByLabel("Note on Junctions: observation").FillAsync("Looked once only at the mini-roundabout.");
        await phone.PressAsync("Keep the note");
        await Expect(page.GetByRole(AriaRole.Status)).ToContainTextAsync("The note is kept");
        await LooksRightAsync(phone);
        await page.GetByLabel("Spoke up (ETA)").FillAsync("1");
        await phone.PressAsync("Finish: passed by the rule");
        await Expect(page.GetByRole(AriaRole.Status)).ToContainTextAsync("The mock test is kept. Passed by the rule.");
        await LooksRightAsync(phone);
        var mock = await host.WithDbAsync(db => db.Set<MockTest>().SingleAsync());
        Assert.Equal((FaultKind.Driving, "Looked once only at the mini-roundabout.", 1), (mock.Faults[0].Kind, mock.Faults[0].Note, mock.EtaVerbal));

        await page.GotoAsync("/syllabus/overview?skill=signals");
        await LooksRightAsync(phone);
        await page.GotoAsync($"/pupils/{pupil.Id}/papers");
        await LooksRightAsync(phone);

        await using var own = await Walk.StartAsync(chromium, url, Screen.Phone with { JavaScript = javaScript });
        await own.SignInAsync(await host.Data.PersonAsync(pupil));
        await own.Page.GotoAsync("/pupils/me");
        await own.PressAsync("Your mock tests");
        await LooksRightAsync(own);
        await own.Page.GetByRole(AriaRole.Link, new() { Name = "Monday 2 March 2026" }).ClickAsync();
        await Expect(own.Page.Locator("main")).ToContainTextAsync("Looked once only at the mini-roundabout.");
        Assert.Equal(0, await own.Page.GetByText("Put right").CountAsync());
        await LooksRightAsync(own);
    }

    private static Task TapAsync(IPage page, string name) => page.GetByRole(AriaRole.Button, new() { Name = name }).First.ClickAsync();

    /// <summary>Nothing for axe, and nothing wider than this phone or a narrower one.</summary>
    private static async Task LooksRightAsync(Walk walk)
    {
        await walk.ExpectAccessibleAsync();
        await walk.ExpectNoSidewaysScrollAsync();
        await walk.Page.SetViewportSizeAsync(320, 640);
        await walk.ExpectNoSidewaysScrollAsync();
        await walk.Page.SetViewportSizeAsync(Screen.Phone.Width, Screen.Phone.Height);
    }
}
