using Microsoft.EntityFrameworkCore;
using Microsoft.Playwright;
using School.Core.Diary;
using School.Core.Pupils;
using School.Tests;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Pupils;
using School.Web.Tests.Host;

namespace School.Browser.Tests;

/// <summary>From a name and a phone number to a first lesson, on a phone, with scripts and without.</summary>
public sealed class FirstLessonJourneyTests(TestPostgres postgres, Chromium chromium)
{
    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task The_office_adds_a_pupil_by_name_and_phone_sees_what_is_missing_enters_it_and_books(bool scripts)
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        await host.Data.InstructorAsync();
        await using var walk = await StartAsync(host, scripts);
        await AddAsync(walk, "Corin Vale");
        await Assertions.Expect(Warning(walk)).ToContainTextAsync("kind of car (manual or automatic), pick-up place");
        await Assertions.Expect(walk.Page.Locator("main .warning").Filter(new() { HasText = "Before driving" })).ToContainTextAsync("see the driving licence, ask the date of birth");
        await ExpectFitAsync(walk);

        // Booking says the same, and leads to the field.
        await walk.PressAsync("Book a lesson");
        await Assertions.Expect(Warning(walk)).ToContainTextAsync("No lesson yet");
        await Assertions.Expect(walk.Page.Locator("main .starts a")).ToHaveCountAsync(0);
        await ExpectFitAsync(walk);
        await walk.PressAsync("Enter the pick-up place");
        Assert.EndsWith("/change#Input_PickUp_Label", walk.Page.Url, StringComparison.Ordinal);
        await Assertions.Expect(walk.Page.Locator("#Input_PickUp_Label")).ToBeInViewportAsync();

        await BornAsync(walk, "4", "5", "2008");
        await walk.Page.GetByLabel("Manual", new() { Exact = true }).CheckAsync();
        await LicenceAsync(walk, LicenceKind.Provisional, "4", "2", "2025");
        await MetAsync(walk);
        await walk.PressAsync("Save changes");
        await Assertions.Expect(Warning(walk)).ToHaveCountAsync(0);

        await walk.PressAsync("Book a lesson");
        await walk.Page.Locator("main .starts a").First.ClickAsync();
        await walk.Page.Locator("main form[method=post] button.main").ClickAsync();
        await Assertions.Expect(walk.Page.Locator("main")).ToContainTextAsync("Corin Vale has no e-mail address: tell them yourself, on 07700 900123.");
        Assert.Equal(LessonKind.Standard, (await LessonAsync(host)).Kind);
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task A_refresher_with_a_full_licence_is_booked(bool scripts)
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        await host.Data.InstructorAsync();
        await using var walk = await StartAsync(host, scripts);
        await AddAsync(walk, "Sorrel Wick");
        await walk.PressAsync("Enter the kind of car (manual or automatic)");
        await BornAsync(walk, "3", "9", "1979");
        await walk.Page.GetByLabel("Manual", new() { Exact = true }).CheckAsync();
        await LicenceAsync(walk, LicenceKind.FullManual, "12", "6", "1998");
        await MetAsync(walk);
        await walk.PressAsync("Save changes");
        await Assertions.Expect(walk.Page.Locator("main")).ToContainTextAsync("Holds a full licence for this car: no plates and no supervisor needed, motorways too.");
        await ExpectFitAsync(walk);

        await walk.PressAsync("Book a lesson");
        await walk.Page.GetByText("Another kind, length or instructor").ClickAsync();
        await walk.Page.GetByLabel("Kind", new() { Exact = true }).SelectOptionAsync(nameof(LessonKind.Refresher));
        await walk.Page.GetByRole(AriaRole.Button, new() { Name = "Show times" }).First.ClickAsync();
        await Assertions.Expect(walk.Page.Locator("main .summary").First).ToContainTextAsync("Refresher lesson");
        await walk.Page.Locator("main .starts a").First.ClickAsync();
        await Assertions.Expect(walk.Page.Locator("main")).ToContainTextAsync("Refresher lesson");
        await ExpectFitAsync(walk);
        await walk.Page.Locator("main form[method=post] button.main").ClickAsync();
        await walk.Page.WaitForURLAsync("**/diary/lessons/*");

        Assert.Equal(LessonKind.Refresher, (await LessonAsync(host)).Kind);
        Assert.Equal(LicenceKind.FullManual, (await host.WithDbAsync(db => db.Set<Pupil>().SingleAsync())).LicenceKind);
    }

    private async Task<Walk> StartAsync(SchoolHost host, bool scripts)
    {
        var walk = await Walk.StartAsync(chromium, host.Url, new(JavaScript: scripts));
        await walk.SignInAsync(await host.Data.OfficeAsync());
        return walk;
    }

    private static async Task AddAsync(Walk walk, string name)
    {
        await walk.Page.GotoAsync("/pupils");
        await walk.PressAsync("Add a pupil");
        await walk.Page.GetByLabel("Name", new() { Exact = true }).FillAsync(name);
        await walk.Page.GetByLabel("Phone", new() { Exact = true }).FillAsync("07700 900123");
        await walk.PressAsync("Add this pupil");
        await Assertions.Expect(walk.Page.GetByRole(AriaRole.Heading, new() { Name = name })).ToBeVisibleAsync();
    }

    private static async Task BornAsync(Walk walk, string day, string month, string year) => await DateAsync(walk, "Input_BirthDate", day, month, year);

    private static async Task LicenceAsync(Walk walk, LicenceKind kind, string day, string month, string year)
    {
        await walk.Page.GetByLabel("Kind of licence").SelectOptionAsync(kind.ToString());
        await DateAsync(walk, "Input_Licence_ValidFrom", day, month, year);
    }

    private static async Task DateAsync(Walk walk, string field, string day, string month, string year)
    {
        foreach (var (part, value) in new[] { ("Day", day), ("Month", month), ("Year", year) })
        {
            await walk.Page.Locator($"#{field}_{part}").FillAsync(value);
        }
    }

    private static async Task MetAsync(Walk walk)
    {
        await walk.Page.GetByLabel("Short name").FillAsync("Mill Lane");
        await walk.Page.GetByLabel("Latitude and longitude").FillAsync("52.4, -1.2");
    }

    private static async Task ExpectFitAsync(Walk walk)
    {
        await walk.ExpectAccessibleAsync();
        await walk.ExpectNoSidewaysScrollAsync();
        await walk.ExpectFormsCarryTokensAsync();
    }

    private static ILocator Warning(Walk walk) => walk.Page.Locator("main .warning").Filter(new() { HasText = "No lesson yet" });

    private static Task<Lesson> LessonAsync(SchoolHost host) => host.WithDbAsync(db => db.Set<Lesson>().AsNoTracking().SingleAsync());
}
