using System.Net;
using School.Tests;
using School.Web.Tests.Host;

namespace School.Web.Tests.Contract;

/// <summary>What programs ask without having signed in is never answered with a page to sign in on.</summary>
public sealed class OpenAddressesTests(TestPostgres postgres)
{
    [Theory]
    [InlineData("OPTIONS", "/calendar/nothing-here.ics", HttpStatusCode.NoContent)]
    [InlineData("PROPFIND", "/calendar/nothing-here.ics", HttpStatusCode.MethodNotAllowed)]
    [InlineData("POST", "/calendar/nothing-here.ics", HttpStatusCode.MethodNotAllowed)]
    [InlineData("PUT", "/calendar/nothing-here.ics", HttpStatusCode.MethodNotAllowed)]
    [InlineData("GET", "/calendar/nothing-here.ics", HttpStatusCode.NotFound)]
    [InlineData("GET", "/calendar/nothing-here", HttpStatusCode.NotFound)]
    [InlineData("PROPFIND", "/calendar/nothing-here", HttpStatusCode.NotFound)]
    [InlineData("GET", "/calendar/", HttpStatusCode.NotFound)]
    [InlineData("GET", "/robots.txt", HttpStatusCode.OK)]
    [InlineData("GET", "/.well-known/caldav", HttpStatusCode.NotFound)]
    [InlineData("PROPFIND", "/.well-known/caldav", HttpStatusCode.NotFound)]
    [InlineData("GET", "/.well-known/security.txt", HttpStatusCode.NotFound)]
    public async Task They_answer_plainly(string method, string address, HttpStatusCode status)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var client = host.Anonymous();
        using var answer = await client.SendAsync(new HttpRequestMessage(new HttpMethod(method), address));
        Assert.Equal(status, answer.StatusCode);
        Assert.True(status is HttpStatusCode.NoContent || answer.Content.Headers.ContentType?.MediaType == "text/plain" || method == "GET");
        // RFC 9110, 15.5.6: 405 names the methods that are taken.
        Assert.True(status is not HttpStatusCode.MethodNotAllowed || answer.Content.Headers.Allow.Contains("GET"));
    }

    [Fact]
    public async Task A_401_says_how_to_sign_in()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var client = host.Anonymous();
        // RFC 9110, 15.5.2: 401 carries WWW-Authenticate.
        using var wrong = await client.SendAsync(HttpMethod.Post, "/api/v1/tokens", new { email = "nobody@larkfield.example", password = "no such lane" });
        Assert.Equal(HttpStatusCode.Unauthorized, wrong.StatusCode);
        Assert.Equal("Bearer", wrong.Headers.WwwAuthenticate.ToString());
        using var missing = await client.GetAsync("/api/v1/lessons");
        Assert.Equal("Bearer", missing.Headers.WwwAuthenticate.ToString());
    }

    [Fact]
    public async Task An_address_that_is_too_long_is_told_as_such()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var api = await host.ApiAsAsync(await host.Data.OfficeAsync());
        using var refused = await api.GetAsync($"/api/v1/pupils?q={new string('x', 9000)}");
        Assert.Equal(HttpStatusCode.RequestUriTooLong, refused.StatusCode);
        Assert.Equal("address_too_long", await refused.CodeAsync());

        await using var listening = await SchoolHost.ListeningAsync(postgres);
        using var real = new HttpClient { BaseAddress = new(listening.Url) };
        using var page = await real.GetAsync($"/people/sign-in?x={new string('x', 9000)}");
        Assert.Equal(HttpStatusCode.RequestUriTooLong, page.StatusCode);
        Assert.Contains("too long", await page.Content.ReadAsStringAsync(), StringComparison.Ordinal);
    }
}
