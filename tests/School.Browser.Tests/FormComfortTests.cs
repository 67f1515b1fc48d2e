using Microsoft.EntityFrameworkCore;
using Microsoft.Playwright;
using NodaTime;
using School.Tests;
using School.Web.Modules.Pupils;
using School.Web.Tests.Host;

namespace School.Browser.Tests;

/// <summary>Forms as fingers meet them: sent too late, sent with Enter, pressed and waiting, reached by the Tab key.</summary>
public sealed class FormComfortTests(TestPostgres postgres, Chromium chromium)
{
    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task A_form_sent_after_the_session_ended_comes_back_after_signing_in_and_goes_when_it_is_pressed_again(bool javaScript)
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var url = host.Url;
        var person = await host.Data.OfficeAsync();
        await using var walk = await Walk.StartAsync(chromium, url, Screen.Phone with { JavaScript = javaScript });
        await walk.SignInAsync(person);
        await walk.Page.GotoAsync("/pupils/new");
        await walk.Page.GetByLabel("Name", new() { Exact = true }).FillAsync("Linnet Vale");
        await walk.Page.GetByLabel("Phone").First.FillAsync("01632 960177");

        host.Clock.Advance(Duration.FromDays(40));
        await walk.PressAsync("Add this pupil");
        await walk.Page.WaitForURLAsync("**/people/sign-in?next=*");
        Assert.Equal(0, await host.WithDbAsync(db => db.Set<Pupil>().CountAsync()));
        await walk.Page.Locator("[name='Input.Email']").FillAsync(person.Email!);
        await walk.Page.Locator("[name='Input.Password']").FillAsync(SchoolHost.Password);
        await walk.Page.Locator("main button.main").ClickAsync();

        await walk.Page.WaitForURLAsync("**/pupils/new?kept=*");
        await Assertions.Expect(walk.Page.Locator(".note").First).ToContainTextAsync("nothing has been sent yet");
        await Assertions.Expect(walk.Page.GetByLabel("Name", new() { Exact = true })).ToHaveValueAsync("Linnet Vale");
        await walk.ExpectAccessibleAsync();
        await walk.ExpectNoSidewaysScrollAsync();
        Assert.Equal(0, await host.WithDbAsync(db => db.Set<Pupil>().CountAsync()));
        await walk.PressAsync("Add this pupil");
        await Assertions.Expect(walk.Page.GetByRole(AriaRole.Status).First).ToContainTextAsync("Linnet Vale");
        Assert.Equal("Linnet Vale", (await host.WithDbAsync(db => db.Set<Pupil>().SingleAsync())).Name);
    }

    [Fact]
    public async Task Enter_sends_the_reason_that_was_typed_and_the_button_shows_that_it_is_at_work()
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var url = host.Url;
        var pupil = await host.Data.PupilAsync("Tamsin Oakley");
        await using var walk = await Walk.StartAsync(chromium, url, Screen.Phone);
        await walk.SignInAsync(await host.Data.PersonAsync(await host.Data.InstructorAsync()));
        await walk.Page.GotoAsync($"/pupils/{pupil.Id}");
        await walk.Page.WaitForURLAsync("**/access?to=*");
        await walk.ExpectAccessibleAsync();
        // What the page shows at the moment in which the answer takes its place.
        await walk.Page.EvaluateAsync("addEventListener('pagehide', () => sessionStorage.setItem('busy', document.querySelector('button[aria-busy=true]')?.textContent ?? 'none'))");
        await walk.Page.GetByLabel("Or in your own words").FillAsync("Her mother rang about Friday");
        await walk.Page.Keyboard.PressAsync("Enter");
        await walk.Page.WaitForURLAsync($"**/pupils/{pupil.Id}");
        Assert.Equal("Open until midnight", await walk.Page.EvaluateAsync<string>("sessionStorage.getItem('busy')"));
        Assert.Equal("Her mother rang about Friday", (await host.WithDbAsync(db => db.Set<PupilAccess>().SingleAsync())).Reason);
    }

    [Fact]
    public async Task The_first_free_time_is_at_most_six_presses_of_the_keyboard_away()
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var url = host.Url;
        var day = await LarkfieldMonday.SeedAsync(host);
        await using var walk = await Walk.StartAsync(chromium, url, Screen.Desk);
        await walk.SignInAsync(await host.Data.PersonAsync(day.Marigold));
        await walk.Page.GotoAsync($"/diary/book?pupil={day.Idris.Id}");
        foreach (var key in new[] { "Tab", "Tab", "Enter", "Tab" })
        {
            await walk.Page.Keyboard.PressAsync(key);
        }

        Assert.Contains("/diary/book/check", await walk.Page.EvaluateAsync<string>("document.activeElement.href ?? document.activeElement.outerHTML"), StringComparison.Ordinal);
        await walk.ExpectAccessibleAsync();
    }
}
