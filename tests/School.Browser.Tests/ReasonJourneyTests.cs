using School.Tests;
using School.Web.Tests.Host;

namespace School.Browser.Tests;

/// <summary>An instructor on a phone needs the number of a colleague's pupil, and says why.</summary>
public sealed class ReasonJourneyTests(TestPostgres postgres, Chromium chromium)
{
    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task A_colleagues_pupil_is_a_name_until_a_reason_is_given(bool javaScript)
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var (own, other) = (await host.Data.InstructorAsync(), await host.Data.InstructorAsync("Piers Anstey"));
        await host.Data.PupilAsync("Tamsin Oakley", instructor: own.Id);
        await host.Data.PupilAsync("Wren Castellan", instructor: other.Id);
        await using var walk = await Walk.StartAsync(chromium, host.Url, Screen.Phone with { JavaScript = javaScript });
        await walk.SignInAsync(await host.Data.PersonAsync(other));
        await walk.Page.GotoAsync("/pupils");
        var list = await walk.Page.Locator("main").InnerTextAsync();
        Assert.Contains("with somebody else", list, StringComparison.Ordinal);
        await walk.ExpectAccessibleAsync();
        await walk.ExpectNoSidewaysScrollAsync();
        await walk.Page.GetByRole(Microsoft.Playwright.AriaRole.Link, new() { Name = "Tamsin Oakley" }).ClickAsync();
        Assert.Contains("Why do you need to see this?", await walk.Page.Locator("main").InnerTextAsync(), StringComparison.Ordinal);
        Assert.Equal(0, await walk.Page.Locator("main a[href^='tel:']").CountAsync());
        await walk.ExpectAccessibleAsync();
        await walk.ExpectNoSidewaysScrollAsync();
        await walk.PressAsync("They or their family called me");
        Assert.NotEqual(0, await walk.Page.Locator("main a[href^='tel:']").CountAsync());
        Assert.Contains("Open to you until midnight", await walk.Page.Locator("main").InnerTextAsync(), StringComparison.Ordinal);
        await walk.ExpectAccessibleAsync();
        await walk.ExpectNoSidewaysScrollAsync();
        await walk.PressAsync("Progress");
        Assert.StartsWith("/syllabus/progress/", new Uri(walk.Page.Url).AbsolutePath, StringComparison.Ordinal);
        Assert.DoesNotContain("Why do you need", await walk.Page.Locator("main").InnerTextAsync(), StringComparison.Ordinal);
    }
}
