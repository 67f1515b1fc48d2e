using System.Net;
using School.Tests;
using School.Web.Tests.Host;

namespace School.Web.Tests.Platform.Security;

/// <summary>A name that the service does not have is neither answered nor repeated (RFC 9110 section 7.4).</summary>
public sealed class KnownHostTests(TestPostgres postgres)
{
    private const string Site = "https://school.larkfield.example";
    private const string Evil = "elsewhere.example";

    [Theory]
    [InlineData("/people/office")]
    [InlineData("/")]
    [InlineData("/api/v1/pupils")]
    public async Task A_strange_host_is_refused_and_not_repeated(string path)
    {
        await using var host = await SchoolHost.StartAsync(postgres, settings: ("School:PublicUrl", Site));
        using var client = host.CreateClient(new() { BaseAddress = new(Site), AllowAutoRedirect = false });
        foreach (var header in new[] { "Host", "X-Forwarded-Host" })
        {
            using var request = new HttpRequestMessage(HttpMethod.Get, path);
            request.Headers.TryAddWithoutValidation(header, Evil);
            var answer = await client.SendAsync(request);
            Assert.Equal(HttpStatusCode.BadRequest, answer.StatusCode);
            Assert.Null(answer.Headers.Location);
            var text = await answer.Content.ReadAsStringAsync();
            Assert.DoesNotContain(Evil, text, StringComparison.Ordinal);
            if (path.StartsWith("/api", StringComparison.Ordinal))
            {
                Assert.Equal("unknown_host", await answer.CodeAsync());
            }
        }
    }

    [Fact]
    public async Task Its_own_names_are_answered_and_health_whatever_name_a_proxy_uses()
    {
        await using var host = await SchoolHost.StartAsync(postgres, settings: [("School:PublicUrl", Site), ("School:OtherHosts", "diary.larkfield.example, old.larkfield.example")]);
        foreach (var name in new[] { Site, "http://127.0.0.1:5080", "http://localhost", "http://[::1]:5080", "https://SCHOOL.larkfield.example", "https://diary.larkfield.example", "https://old.larkfield.example" })
        {
            using var client = host.CreateClient(new() { BaseAddress = new(name), AllowAutoRedirect = false });
            Assert.NotEqual(HttpStatusCode.BadRequest, (await client.GetAsync("/people/sign-in")).StatusCode);
        }

        using var probe = host.CreateClient(new() { BaseAddress = new("http://web1:8080"), AllowAutoRedirect = false });
        Assert.Equal(HttpStatusCode.OK, (await probe.GetAsync("/health/ready")).StatusCode);
        Assert.Equal(HttpStatusCode.BadRequest, (await probe.GetAsync("/people/sign-in")).StatusCode);
    }

    [Fact]
    public async Task Leading_to_the_sign_in_page_names_no_host_at_all()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var browser = host.Browser();
        Assert.Equal("/people/sign-in?next=%2Fpeople%2Foffice%3Fa%3Db", (await browser.GetAsync("/people/office?a=b")).Headers.Location?.OriginalString);
        using var pupil = await host.PagesAsAsync(await host.Data.PersonAsync(await host.Data.PupilAsync()));
        Assert.StartsWith("/people/not-allowed", (await pupil.GetAsync("/people/office")).Headers.Location?.OriginalString, StringComparison.Ordinal);
    }
}
