using Microsoft.EntityFrameworkCore;
using Microsoft.Playwright;
using NodaTime;
using School.Tests;
using School.Web.Modules.Diary.TestDays;
using School.Web.Tests.Host;
using static Microsoft.Playwright.Assertions;

namespace School.Browser.Tests;

/// <summary>From the day a pupil enters to the result they read: pupil, office and instructor, each on their own screen.</summary>
public sealed class TestDayJourneyTests(TestPostgres postgres, Chromium chromium)
{
    private static readonly Screen Phone = new(320, 640);

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task A_pupil_enters_a_test_the_office_settles_who_goes_along_and_the_instructor_records_it(bool javaScript)
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var url = host.Url;
        var instructor = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync(instructor: instructor.Id);

        await using var phone = await Walk.StartAsync(chromium, url, Phone with { JavaScript = javaScript });
        await phone.SignInAsync(await host.Data.PersonAsync(pupil));
        await phone.Page.GotoAsync("/diary/home");
        await phone.Page.GetByRole(AriaRole.Link, new() { Name = "Enter its day" }).ClickAsync();
        var form = phone.Page;
        await LooksRightAsync(phone, javaScript);
        await form.GetByLabel("Day of the test").FillAsync("2026-04-14");
        await form.GetByLabel("Time of the test").FillAsync("10:14");
        await form.GetByLabel("Short name").FillAsync("Northgate");
        await form.GetByLabel("Address").First.FillAsync("1 Northgate, Larkfield");
        await form.GetByLabel("Latitude and longitude").FillAsync("52.41, -1.19");
        await phone.PressAsync("Enter the test day");
        await Expect(form.GetByRole(AriaRole.Status)).ToContainTextAsync("The test day is kept: Tuesday 14 April, 10:14");
        await Expect(form.Locator("main")).ToContainTextAsync("by Monday 30 March 2026, as counted here. Be a day early");
        await LooksRightAsync(phone, javaScript);

        await using var desk = await Walk.StartAsync(chromium, url, Screen.Desk with { JavaScript = javaScript });
        await desk.SignInAsync(await host.Data.OfficeAsync());
        await desk.Page.GotoAsync("/diary/attention");
        await desk.PressAsync("Look at the test day");
        await desk.Page.Locator("main a[href$='/change']").ClickAsync();
        await desk.Page.Locator("select[name='Input.InstructorId']").SelectOptionAsync(instructor.Id.ToString());
        await desk.Page.Locator("select[name='Input.Car']").SelectOptionAsync(new SelectOptionValue { Index = 1 });
        await desk.Page.GetByLabel("I have seen that this car is insured").CheckAsync();
        await desk.PressAsync("Save the changes");
        await Expect(desk.Page.GetByRole(AriaRole.Status)).ToContainTextAsync("The test day is changed");
        Assert.Equal(0, await desk.Page.Locator(".warning").CountAsync());

        host.Clock.Reset(new LocalDateTime(2026, 4, 14, 12, 0).InZoneStrictly(SchoolHost.London).ToInstant());
        await using var car = await Walk.StartAsync(chromium, url, Phone with { JavaScript = javaScript });
        await car.SignInAsync(await host.Data.PersonAsync(instructor));
        await car.Page.GotoAsync("/diary/day");
        await car.Page.Locator("main a[href^='/diary/test-days/']").First.ClickAsync();
        await LooksRightAsync(car, javaScript);
        await car.PressAsync("Record the result");
        await car.Page.GetByText("By heading of the marking sheet").ClickAsync();
        await LooksRightAsync(car, javaScript);
        await car.Page.GetByLabel("Failed", new() { Exact = true }).CheckAsync();
        await car.Page.GetByLabel("Driving faults").FillAsync("3");
        await car.Page.GetByLabel("Serious faults").FillAsync("1");
        await car.Page.GetByLabel("Dangerous faults").FillAsync("0");
        await car.PressAsync("Save the result");
        await Expect(car.Page.Locator("main")).ToContainTextAsync("Saturday 25 April 2026 at the earliest");

        await phone.SignInAsync(await host.WithDbAsync(db => db.Set<Web.Modules.People.Person>().SingleAsync(p => p.PupilId == pupil.Id)));
        await phone.Page.GotoAsync("/diary/test-days");
        await Expect(phone.Page.Locator("main")).ToContainTextAsync("Failed");
        await LooksRightAsync(phone, javaScript);
        Assert.Equal(TestDayState.Failed, await host.WithDbAsync(db => db.Set<TestDay>().Select(t => t.State).SingleAsync()));
    }
    /// <summary>Axe is a script itself, so it looks only where scripts run.</summary>
    // The agency's own table of deadlines for Christmas 2013 has a test on a Sunday: gov.uk/government/news/dsa-opening-hours-christmas-and-new-year--2.
    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task A_test_on_a_Sunday_is_entered_on_a_phone_and_looked_at_twice(bool javaScript)
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var pupil = await host.Data.PupilAsync(instructor: (await host.Data.InstructorAsync()).Id);
        await using var phone = await Walk.StartAsync(chromium, host.Url, Phone with { JavaScript = javaScript });
        await phone.SignInAsync(await host.Data.PersonAsync(pupil));
        await phone.Page.GotoAsync("/diary/home");
        await phone.Page.GetByRole(AriaRole.Link, new() { Name = "Enter its day" }).ClickAsync();
        await phone.Page.GetByLabel("Day of the test").FillAsync("2026-04-12");
        await phone.Page.GetByLabel("Time of the test").FillAsync("10:14");
        await phone.Page.GetByLabel("Short name").FillAsync("Northgate");
        await phone.Page.GetByLabel("Address").First.FillAsync("1 Northgate, Larkfield");
        await phone.Page.GetByLabel("Latitude and longitude").FillAsync("52.41, -1.19");
        await phone.PressAsync("Enter the test day");
        await Expect(phone.Page.GetByRole(AriaRole.Status)).ToContainTextAsync("The test day is kept: Sunday 12 April, 10:14");
        await Expect(phone.Page.Locator("main")).ToContainTextAsync("Sunday 12 April 2026 is a Sunday. Tests are held on some Sundays: look at the date in the confirmation once more.");
        await LooksRightAsync(phone, javaScript);
        Assert.Equal(new LocalDate(2026, 4, 12), (await host.WithDbAsync(db => db.Set<TestDay>().Select(t => t.StartsAt).SingleAsync())).InZone(SchoolHost.London).Date);
    }

    private static async Task LooksRightAsync(Walk walk, bool javaScript)
    {
        if (!javaScript)
        {
            return;
        }

        await walk.ExpectAccessibleAsync();
        await walk.ExpectNoSidewaysScrollAsync();
    }
}
