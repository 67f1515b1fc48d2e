using School.Tests;
using School.Web.Tests.Host;

namespace School.Browser.Tests;

public sealed class ApiReferenceTests(TestPostgres postgres, Chromium chromium)
{
    [Fact]
    public async Task Anybody_can_read_the_reference()
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        await using var walk = await Walk.StartAsync(chromium, host.Url, Screen.Phone);
        await walk.Page.GotoAsync("/api");
        Assert.Equal("API reference", await walk.Page.Locator("h1").InnerTextAsync());
        await walk.ExpectAccessibleAsync();
        await walk.ExpectNoSidewaysScrollAsync();
    }
}
