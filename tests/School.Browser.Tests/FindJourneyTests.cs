using Microsoft.Playwright;
using School.Tests;
using School.Web.Tests.Host;

namespace School.Browser.Tests;

/// <summary>From any page to a pupil by the keyboard alone; and the same by presses, without a script.</summary>
public sealed class FindJourneyTests(TestPostgres postgres, Chromium chromium)
{
    [Fact]
    public async Task By_the_keyboard_a_stroke_a_few_letters_and_arrows_lead_to_a_pupil()
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var (zoe, other) = (await host.Data.PupilAsync("Zoë Castellan"), await host.Data.PupilAsync("Wren Castle"));
        await using var walk = await Walk.StartAsync(chromium, host.Url, new(1440, 900));
        await walk.SignInAsync(await host.Data.OfficeAsync());
        await walk.Page.GotoAsync("/diary/board");
        await walk.Page.Keyboard.PressAsync("/");
        await walk.Page.Keyboard.TypeAsync("zo/e");
        Assert.Equal("zo/e", await walk.Page.Locator("#find-any").InputValueAsync());
        await walk.Page.Keyboard.PressAsync("Control+A");
        await walk.Page.Keyboard.TypeAsync("nobody here");
        await walk.Page.Keyboard.PressAsync("Enter");
        await walk.Page.WaitForURLAsync("**/find?q=nobody+here");
        Assert.Contains("Nothing found", await walk.Page.Locator("main").InnerTextAsync(), StringComparison.Ordinal);

        // The page has the one field; what is found comes as one types.
        Assert.Equal(0, await walk.Page.Locator("#find-any").CountAsync());
        await walk.Page.Keyboard.PressAsync("/");
        await walk.Page.Keyboard.PressAsync("Control+A");
        await walk.Page.Keyboard.TypeAsync("castl");
        await walk.Page.GetByRole(AriaRole.Link, new() { Name = "Wren Castle" }).WaitForAsync();
        await walk.Page.Keyboard.PressAsync("Control+A");
        await walk.Page.Keyboard.TypeAsync("cast");
        await walk.Page.GetByRole(AriaRole.Link, new() { Name = "Zoë Castellan" }).WaitForAsync();
        await walk.ExpectAccessibleAsync();
        await walk.Page.Keyboard.PressAsync("ArrowDown");
        await walk.Page.Keyboard.PressAsync("ArrowDown");
        await walk.Page.Keyboard.PressAsync("ArrowUp");
        await walk.Page.Keyboard.PressAsync("ArrowUp");
        Assert.Equal("Q", await walk.Page.EvaluateAsync<string>("document.activeElement.id"));
        await walk.Page.Keyboard.PressAsync("ArrowDown");
        await walk.Page.Keyboard.PressAsync("ArrowDown");
        await walk.Page.Keyboard.PressAsync("Enter");
        await walk.Page.WaitForURLAsync($"**/pupils/{zoe.Id}");
        await walk.Page.GoBackAsync();
        await walk.Page.GetByRole(AriaRole.Link, new() { Name = "Wren Castle" }).ClickAsync();
        await walk.Page.WaitForURLAsync($"**/pupils/{other.Id}");
    }

    [Fact]
    public async Task Where_nothing_answers_what_was_found_before_goes_and_it_is_said()
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        await host.Data.PupilAsync("Zoë Castellan");
        await using var walk = await Walk.StartAsync(chromium, host.Url, Screen.Phone);
        await walk.SignInAsync(await host.Data.OfficeAsync());
        await walk.Page.GotoAsync("/find?q=zoe");
        Assert.Contains("Zoë Castellan", await walk.Page.Locator("#found").InnerTextAsync(), StringComparison.Ordinal);
        await walk.Page.RouteAsync("**/find?q=wren", route => route.AbortAsync());
        await walk.Page.RouteAsync("**/find?q=many", route => route.FulfillAsync(new() { Status = 429 }));
        foreach (var typed in new[] { "wren", "many" })
        {
            await walk.Page.Locator("#Q").FillAsync(typed);
            await walk.Page.GetByText("Press Find to try again.").First.WaitForAsync();
            Assert.DoesNotContain("Zoë Castellan", await walk.Page.Locator("#found").InnerTextAsync(), StringComparison.Ordinal);
            await walk.Page.Locator("#Q").FillAsync("zoe");
            await walk.Page.GetByRole(AriaRole.Link, new() { Name = "Zoë Castellan" }).WaitForAsync();
        }
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task On_a_phone_a_press_leads_to_the_field_also_without_a_script(bool javaScript)
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync("Zoë Castellan", instructor: instructor.Id);
        await using var walk = await Walk.StartAsync(chromium, host.Url, Screen.Phone with { JavaScript = javaScript });
        await walk.SignInAsync(await host.Data.PersonAsync(instructor));
        await walk.Page.GotoAsync("/diary/day");
        await walk.Page.Locator("header").GetByRole(AriaRole.Link, new() { Name = "Find", Exact = true }).ClickAsync();
        await walk.Page.Locator("#Q").FillAsync("castelan zoe");
        await walk.Page.GetByRole(AriaRole.Button, new() { Name = "Find", Exact = true }).ClickAsync();
        await walk.Page.WaitForURLAsync("**/find?*");
        var found = await walk.Page.Locator("main").InnerTextAsync();
        Assert.Contains("with Marigold Ashby", found, StringComparison.Ordinal);
        await walk.ExpectAccessibleAsync();
        await walk.ExpectNoSidewaysScrollAsync();
        await walk.Page.GetByRole(AriaRole.Link, new() { Name = "Zoë Castellan" }).ClickAsync();
        await walk.Page.WaitForURLAsync($"**/pupils/{pupil.Id}");
    }
}
