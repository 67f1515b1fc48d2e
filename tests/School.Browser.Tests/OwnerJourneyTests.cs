using Microsoft.EntityFrameworkCore;
using Microsoft.Playwright;
using School.Tests;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Platform.Access;
using School.Web.Tests.Host;

namespace School.Browser.Tests;

/// <summary>The owner who teaches and is the office, one person with one sign-in, on a phone: their own day, then the school's, without signing in anew.</summary>
public sealed class OwnerJourneyTests(TestPostgres postgres, Chromium chromium)
{
    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task The_owner_records_what_they_taught_and_keeps_the_diary_of_others(bool javaScript)
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host);
        var other = await host.Data.InstructorAsync("Bram Holt");
        var pupil = await host.Data.PupilAsync("Juniper Vale", instructor: other.Id);
        var owner = await host.Data.WearerAsync(day.Marigold.Name, day.Marigold.Email, OfficeParts.All, instructor: day.Marigold.Id);
        await using var walk = await Walk.StartAsync(chromium, host.Url, Screen.Phone with { JavaScript = javaScript });
        var page = walk.Page;
        await page.GotoAsync("/people/sign-in");
        await page.GetByLabel("E-mail").FillAsync(owner.Email!);
        await page.GetByLabel("Password").FillAsync(SchoolHost.Password);
        await page.Locator("main").GetByRole(AriaRole.Button).First.ClickAsync();

        // They begin at their own day; the board, of the other hat, is one press away.
        await Assertions.Expect(page).ToHaveURLAsync(new System.Text.RegularExpressions.Regex("/diary/day"));
        await LooksRightAsync();
        host.Clock.Reset(LarkfieldMonday.At(11, 31));
        await page.ReloadAsync();
        await page.GetByRole(AriaRole.Link, new() { Name = "Record when parked" }).ClickAsync();
        await page.GetByLabel("Minutes taught").FillAsync("70");
        await page.GetByLabel("One sentence for the pupil").FillAsync("Roundabouts without a prompt.");
        await walk.PressAsync("Record as taught");
        await Assertions.Expect(page.GetByRole(AriaRole.Status)).ToContainTextAsync("Recorded: Idris Bell");

        // The school's day: both instructors stand on it, and a lesson with the other one is booked.
        await page.Locator("nav").GetByRole(AriaRole.Link, new() { Name = "Board" }).First.ClickAsync();
        await LooksRightAsync();
        await Assertions.Expect(page.Locator("main")).ToContainTextAsync("Bram Holt");
        await Assertions.Expect(page.Locator("main")).ToContainTextAsync("Marigold Ashby");
        await page.Locator("main").GetByRole(AriaRole.Link, new() { Name = "Book a lesson" }).First.ClickAsync();
        await page.Locator("main").GetByLabel("Pupil").FillAsync("juniper");
        await page.GetByRole(AriaRole.Button, new() { Name = "Find pupil" }).ClickAsync();
        await page.Locator("main").GetByRole(AriaRole.Link, new() { Name = "Juniper Vale", Exact = true }).ClickAsync();
        await LooksRightAsync();
        await page.Locator("main form button.main", new() { HasText = "Book" }).ClickAsync();
        await Assertions.Expect(page.GetByRole(AriaRole.Status)).ToContainTextAsync("Lesson booked");

        // Their settings and their own hours are theirs alike.
        foreach (var address in new[] { "/people/school", "/diary/hours", "/diary/attention", "/syllabus/overview", "/papers", "/people/office" })
        {
            await page.GotoAsync(address);
            await Assertions.Expect(page).ToHaveURLAsync(new System.Text.RegularExpressions.Regex(address));
            await LooksRightAsync();
        }

        var (taught, booked) = await host.WithDbAsync(async db => (
            await db.Set<Lesson>().CountAsync(l => l.InstructorId == day.Marigold.Id && l.Id == day.OnNow.Id && l.State == LessonState.Taught),
            await db.Set<Lesson>().AsNoTracking().SingleAsync(l => l.PupilId == pupil.Id)));
        Assert.Equal((1, LessonState.Booked), (taught, booked.State));

        async Task LooksRightAsync()
        {
            await walk.ExpectAccessibleAsync();
            await walk.ExpectNoSidewaysScrollAsync();
            await walk.ExpectFormsCarryTokensAsync();
        }
    }
}
