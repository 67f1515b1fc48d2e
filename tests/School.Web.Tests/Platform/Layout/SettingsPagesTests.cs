using School.Tests;
using School.Web.Platform.Layout;
using School.Web.Tests.Host;

namespace School.Web.Tests.Platform.Layout;

public sealed class SettingsPagesTests(TestPostgres postgres)
{
    [Fact]
    public async Task A_page_of_the_settings_is_named_to_those_who_may_open_it()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pages = (await SweptRoute.AllAsync(host.Services)).Where(route => route.IsPage && route.Method == "GET").ToList();
        Assert.Equal(
            SettingsPages.All.Select(page => (page.Item.Href, pages.First(route => route.Template == page.Item.Href || route.Template == $"{page.Item.Href}/index").Permission)),
            SettingsPages.All.Select(page => (page.Item.Href, (Web.Platform.Access.Permission?)page.Permission)));
    }
}
