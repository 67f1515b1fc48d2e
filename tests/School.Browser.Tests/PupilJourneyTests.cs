using System.Text.RegularExpressions;
using Microsoft.EntityFrameworkCore;
using Microsoft.Playwright;
using NodaTime;
using School.Core.Diary.Charges;
using School.Tests;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Messages;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Modules.School;
using School.Web.Tests.Host;

namespace School.Browser.Tests;

/// <summary>A pupil with a phone: from signing in to a lesson booked, moved and cancelled.</summary>
public sealed partial class PupilJourneyTests(TestPostgres postgres, Chromium chromium)
{
    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task A_pupil_books_in_four_presses_then_moves_and_cancels(bool javaScript)
    {
        await using var host = await ListeningAsync();
        var pupil = await PupilAsync(host);
        await using var walk = await SignInAsync(host, pupil, Screen.Phone with { JavaScript = javaScript });
        var page = walk.Page;

        await walk.PressAsync("Book a lesson");
        await page.Locator(".free-day .starts a", new() { HasText = "Tuesday 3 March, 10:00" }).First.ClickAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "Book Tuesday 3 March, 10:00" }).ClickAsync();
        await Expect(page.GetByRole(AriaRole.Status)).ToContainTextAsync("Lesson booked: Tuesday 3 March, 10:00 to 11:00");
        await Expect(page).ToHaveURLAsync(LessonPage());
        await Expect(page.Locator("main")).ToContainTextAsync("Be ready at Mill Lane at 10:00");
        await page.ReloadAsync();
        await Expect(page.GetByRole(AriaRole.Heading, new() { Level = 1 })).ToHaveTextAsync("Tuesday 3 March, 10:00 to 11:00");
        Assert.Equal(1, await host.WithDbAsync(db => db.Set<Lesson>().CountAsync()));

        // Tomorrow is inside the notice for moving; Thursday is not.
        await walk.PressAsync("Home");
        await walk.PressAsync("Book a lesson");
        await page.Locator(".free-day summary", new() { HasText = "Thursday 5 March" }).ClickAsync();
        await page.Locator(".free-day[open] .starts a", new() { HasText = "Thursday 5 March, 14:00" }).ClickAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "Book Thursday 5 March, 14:00" }).ClickAsync();
        await walk.PressAsync("Move lesson");
        await page.Locator(".free-day summary", new() { HasText = "Friday 6 March" }).ClickAsync();
        await page.Locator(".free-day[open] .starts a", new() { HasText = "Friday 6 March, 09:15" }).ClickAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "Move to Friday 6 March, 09:15" }).ClickAsync();
        await Expect(page.GetByRole(AriaRole.Status)).ToContainTextAsync("Lesson moved to Friday 6 March, 09:15 to 10:15");

        await walk.PressAsync("Cancel lesson");
        await page.GetByRole(AriaRole.Button, new() { Name = "Cancel lesson, free of charge" }).ClickAsync();
        await Expect(page.GetByRole(AriaRole.Status)).ToContainTextAsync("Lesson cancelled, free of charge");
        await page.GoBackAsync();
        await page.GoForwardAsync();

        await walk.PressAsync("Home");
        await walk.PressAsync("Cancel");
        await page.GetByRole(AriaRole.Button, new() { Name = "Cancel lesson, charge applies" }).ClickAsync();
        await Expect(page.GetByRole(AriaRole.Status)).ToContainTextAsync("Lesson cancelled, charge applies");

        var kinds = await host.WithDbAsync(db => db.Set<Message>().Where(m => m.ToAddress == pupil.Email).Select(m => m.Kind).Distinct().Order().ToListAsync());
        Assert.Equal(["lesson_booked", "lesson_cancelled", "lesson_moved", "lesson_reminder"], kinds);
        Assert.Equal(2, await host.WithDbAsync(db => db.Set<Lesson>().CountAsync(l => l.State == LessonState.Cancelled)));
    }

    [Theory]
    [InlineData(390, false)]
    [InlineData(1280, true)]
    public async Task Every_page_of_a_pupil_is_accessible_and_keeps_to_the_screen(int width, bool dark)
    {
        await using var host = await ListeningAsync();
        var pupil = await PupilAsync(host);
        var lessons = await LessonsAsync(host, pupil);
        await using var walk = await SignInAsync(host, pupil, Screen.Phone with { Width = width, Dark = dark });
        var pages = new Dictionary<string, string>
        {
            ["home"] = "/diary/home",
            ["lessons"] = "/diary/lessons",
            ["book"] = "/diary/book",
            ["book-anyone"] = "/diary/book?with=anyone",
            ["book-none"] = "/diary/book?minutes=480",
            ["book-wrong"] = "/diary/book?minutes=5",
            ["check"] = $"/diary/book/check?start=2026-03-06T10:00:00Z&minutes=60&with={pupil.UsualInstructorId}",
            ["check-taken"] = $"/diary/book/check?start=2026-03-05T14:15:00Z&minutes=60&with={pupil.UsualInstructorId}",
            ["lesson"] = $"/diary/lessons/{lessons.Coming}",
            ["lesson-charged"] = $"/diary/lessons/{lessons.Charged}",
            ["lesson-taught"] = $"/diary/lessons/{lessons.Taught}",
            ["move"] = $"/diary/lessons/{lessons.Coming}/move",
            ["move-late"] = $"/diary/lessons/{lessons.Soon}/move",
            ["move-check"] = $"/diary/lessons/{lessons.Coming}/move/check?start=2026-03-06T10:00:00Z",
            ["cancel"] = $"/diary/lessons/{lessons.Coming}/cancel",
            ["cancel-charged"] = $"/diary/lessons/{lessons.Soon}/cancel",
        };
        foreach (var (name, address) in pages)
        {
            await walk.Page.GotoAsync(address);
            await ShotAsync(walk, $"pupil-{name}-{width}-{(dark ? "dark" : "light")}");
            await walk.ExpectAccessibleAsync();
            await walk.ExpectNoSidewaysScrollAsync();
        }

        await walk.Page.SetViewportSizeAsync(320, 640);
        foreach (var address in pages.Values)
        {
            await walk.Page.GotoAsync(address);
            await walk.ExpectNoSidewaysScrollAsync();
        }
    }

    [Theory]
    [InlineData(390, true)]
    [InlineData(1280, false)]
    public async Task The_same_pages_serve_the_office(int width, bool dark)
    {
        await using var host = await ListeningAsync();
        var pupil = await PupilAsync(host);
        var lessons = await LessonsAsync(host, pupil);
        await using var walk = await SignInAsync(host, await host.Data.OfficeAsync(), Screen.Phone with { Width = width, Dark = dark });
        var pages = new Dictionary<string, string>
        {
            ["book"] = $"/diary/book?pupil={pupil.Id}",
            ["book-whom"] = "/diary/book",
            ["book-wrong"] = $"/diary/book?pupil={pupil.Id}&day=&time=",
            ["check"] = $"/diary/book/check?pupil={pupil.Id}&start=2026-03-06T10:10:00Z&minutes=50&with={pupil.UsualInstructorId}",
            ["lessons"] = $"/diary/lessons?pupil={pupil.Id}",
            ["lesson"] = $"/diary/lessons/{lessons.Coming}",
            ["lesson-taught"] = $"/diary/lessons/{lessons.Taught}",
            ["lesson-charged"] = $"/diary/lessons/{lessons.Charged}",
            ["move"] = $"/diary/lessons/{lessons.Coming}/move",
            ["cancel-why"] = $"/diary/lessons/{lessons.Soon}/cancel",
            ["cancel"] = $"/diary/lessons/{lessons.Soon}/cancel?reason=Weather",
        };
        foreach (var (name, address) in pages)
        {
            await walk.Page.GotoAsync(address);
            await ShotAsync(walk, $"pupil-office-{name}-{width}-{(dark ? "dark" : "light")}");
            await walk.ExpectAccessibleAsync();
            await walk.ExpectNoSidewaysScrollAsync();
        }
    }

    [Fact]
    public async Task A_new_pupil_is_led_to_the_first_lesson()
    {
        await using var host = await ListeningAsync();
        var pupil = await PupilAsync(host);
        await using var walk = await SignInAsync(host, pupil, Screen.Phone);
        await Expect(walk.Page.Locator(".nothing")).ToContainTextAsync("No lesson booked");
        await Expect(walk.Page.Locator("main")).ToContainTextAsync("number plate from 20 metres");
        await walk.ExpectAccessibleAsync();
        await walk.PressAsync("Book a lesson");
        await Expect(walk.Page.GetByRole(AriaRole.Heading, new() { Level = 1 })).ToHaveTextAsync("Book a lesson");
    }

    [Fact]
    public async Task A_time_taken_meanwhile_leads_to_three_others_by_one_press()
    {
        await using var host = await ListeningAsync();
        var pupil = await PupilAsync(host);
        await using var walk = await SignInAsync(host, pupil, Screen.Phone);
        await walk.Page.GotoAsync($"/diary/book/check?start=2026-03-06T10:00:00Z&minutes=60&with={pupil.UsualInstructorId}");
        var first = await host.Data.PupilAsync("Idris Bell", instructor: pupil.UsualInstructorId);
        await host.AddAsync(await LessonOfAsync(host, first, new(2026, 3, 6), new(10, 0)));
        await walk.PressAsync("Book Friday 6 March, 10:00");
        await Expect(walk.Page.Locator(".problems")).ToContainTextAsync("already has something at that time");
        await walk.ExpectAccessibleAsync();
        var others = walk.Page.Locator(".ways button");
        await Expect(others).ToHaveCountAsync(3);
        var words = await others.First.Locator("b").InnerTextAsync();
        await others.First.ClickAsync();
        await Expect(walk.Page.GetByRole(AriaRole.Status)).ToContainTextAsync($"Lesson booked: {words["Book ".Length..]}");
    }

    private static ILocatorAssertions Expect(ILocator locator) => Assertions.Expect(locator);

    private static IPageAssertions Expect(IPage page) => Assertions.Expect(page);

    private Task<SchoolHost> ListeningAsync() => SchoolHost.ListeningAsync(postgres);

    private static async Task<Pupil> PupilAsync(SchoolHost host)
    {
        await host.WithDbAsync(db => db.Set<SchoolProfile>().ExecuteUpdateAsync(s => s
            .SetProperty(p => p.Name, "Larkfield Driving School").SetProperty(p => p.Phone, "+441632960100")));
        var instructor = await host.Data.InstructorAsync();
        await host.Data.InstructorAsync("Corin Hale");
        var pupil = await host.Data.PupilAsync(instructor: instructor.Id);
        return pupil;
    }

    private async Task<Walk> SignInAsync(SchoolHost host, Pupil pupil, Screen screen)
    {
        var walk = await SignInAsync(host, await host.Data.PersonAsync(pupil), screen);
        await Expect(walk.Page).ToHaveURLAsync(HomePage());
        return walk;
    }

    private async Task<Walk> SignInAsync(SchoolHost host, Person person, Screen screen)
    {
        var walk = await Walk.StartAsync(chromium, host.ClientOptions.BaseAddress.ToString(), screen);
        await walk.Page.GotoAsync("/people/sign-in");
        await walk.Page.Locator("[name='Input.Email']").FillAsync(person.Email!);
        await walk.Page.Locator("[name='Input.Password']").FillAsync(SchoolHost.Password);
        await walk.Page.Locator("main button").ClickAsync();
        await Expect(walk.Page.GetByRole(AriaRole.Navigation, new() { Name = "Main" })).ToBeVisibleAsync();
        return walk;
    }

    private sealed record Made(Guid Soon, Guid Coming, Guid Charged, Guid Taught);

    private static async Task<Made> LessonsAsync(SchoolHost host, Pupil pupil)
    {
        var now = host.Clock.GetCurrentInstant();
        var soon = await LessonOfAsync(host, pupil, new(2026, 3, 3), new(11, 0));
        var coming = await LessonOfAsync(host, pupil, new(2026, 3, 5), new(14, 0));
        var charged = await LessonOfAsync(host, pupil, new(2026, 2, 26), new(9, 0));
        charged.Cancel(CancelReason.Pupil, LessonCharge.Decide(ChargeAct.Cancel, ChargeCause.Pupil, charged.StartsAt, charged.StartsAt - Duration.FromHours(3), new(48)), now);
        var taught = await LessonOfAsync(host, pupil, new(2026, 2, 24), new(16, 0));
        taught.Record(60, "Roundabouts went well: early signals, good speed.\nNext time look twice over the shoulder before moving off.", now);
        var more = Enumerable.Range(1, 4).Select(week => LessonOfAsync(host, pupil, new LocalDate(2026, 3, 5).PlusWeeks(week), new(14, 0)));
        await host.AddAsync([soon, coming, charged, taught, .. await Task.WhenAll(more)]);
        await host.WithDbAsync(db => db.Set<Pupil>().ExecuteUpdateAsync(s => s
            .SetProperty(p => p.Need, "Meeting traffic in narrow streets, then Quarry Rise").SetProperty(p => p.EyesightCheckedOn, new LocalDate(2026, 1, 5))));
        return new(soon.Id, coming.Id, charged.Id, taught.Id);
    }

    private static async Task<Lesson> LessonOfAsync(SchoolHost host, Pupil pupil, LocalDate date, LocalTime time)
    {
        var start = (date + time).InZoneStrictly(SchoolHost.London).ToInstant();
        var car = await host.WithDbAsync(db => db.Set<School.Web.Modules.Cars.Holding>().Where(h => h.InstructorId == pupil.UsualInstructorId).Select(h => h.CarId).FirstAsync());
        return Lesson.Book(
            pupil.Id, pupil.UsualInstructorId!.Value, car, new(start, start + Duration.FromHours(1)), TestData.PlaceAt(), TestData.PlaceAt(),
            host.Clock.GetCurrentInstant());
    }

    /// <summary>A picture of the page for whoever wants to look, where SCHOOL_SHOTS names a folder.</summary>
    private static async Task ShotAsync(Walk walk, string name)
    {
        if (Environment.GetEnvironmentVariable("SCHOOL_SHOTS") is { Length: > 0 } folder)
        {
            await walk.Page.ScreenshotAsync(new() { Path = Path.Combine(folder, $"{name}.png"), FullPage = true });
        }
    }

    [GeneratedRegex("/diary/home$")]
    private static partial Regex HomePage();

    [GeneratedRegex("/diary/lessons/[0-9a-f-]{36}$")]
    private static partial Regex LessonPage();
}
