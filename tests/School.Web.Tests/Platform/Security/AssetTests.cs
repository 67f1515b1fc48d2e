using System.Net;
using System.Text.RegularExpressions;
using School.Tests;
using School.Web.Tests.Host;

namespace School.Web.Tests.Platform.Security;

/// <summary>RFC 9111 section 5.2.2 and RFC 8246: what an address names for ever may be kept for ever; nothing else is served without asking.</summary>
public sealed partial class AssetTests(TestPostgres postgres)
{
    private const string Forever = "public, max-age=31536000, immutable";

    [Fact]
    public async Task Every_style_script_and_icon_of_a_page_has_its_hash_in_its_address_and_may_be_kept_for_ever()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var browser = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var page = await (await browser.GetAsync("/people/account")).TextAsync();
        var addresses = Asset().Matches(page).Select(m => m.Groups[1].Value).ToList();
        Assert.Contains(addresses, address => address.Contains("/icons/", StringComparison.Ordinal));
        Assert.True(addresses.Count > 8, string.Join('\n', addresses));
        foreach (var address in addresses)
        {
            Assert.Contains("?v=", address, StringComparison.Ordinal);
            var answer = await browser.GetAsync(address);
            Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
            Assert.Equal(Forever, string.Join(", ", answer.Headers.GetValues("Cache-Control")));
        }
    }

    [Theory]
    [InlineData("/css/base.css")]
    [InlineData("/css/base.css?v=of-another-version")]
    [InlineData("/js/keep.js")]
    [InlineData("/sw.js")]
    [InlineData("/manifest.webmanifest")]
    public async Task An_address_that_does_not_name_the_present_content_is_asked_for_again_each_time(string address)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var browser = host.Browser();
        var answer = await browser.GetAsync(address);
        Assert.Equal("no-cache", string.Join(", ", answer.Headers.GetValues("Cache-Control")));
        using var again = new HttpRequestMessage(HttpMethod.Get, address);
        again.Headers.IfNoneMatch.Add(answer.Headers.ETag!);
        Assert.Equal(HttpStatusCode.NotModified, (await browser.SendAsync(again)).StatusCode);
    }

    [Fact]
    public async Task A_page_still_rests_in_no_cache()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var browser = await host.PagesAsAsync(await host.Data.OfficeAsync());
        foreach (var page in new[] { "/people/account", "/css/no-such.css?v=1", "/api/v1/tokens" })
        {
            Assert.True((await browser.GetAsync(page)).Headers.CacheControl?.NoStore, page);
        }
    }

    [GeneratedRegex("(?:href|src)=\"(/(?:css|js|lib|icons)/[^\"]+)\"")]
    private static partial Regex Asset();
}
