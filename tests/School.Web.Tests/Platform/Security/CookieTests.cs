using System.Net;
using School.Tests;
using School.Web.Tests.Host;
using School.Web.Tests.People;

namespace School.Web.Tests.Platform.Security;

/// <summary>OWASP ASVS 5.0: V3.3.1 and V3.3.3 (Secure, __Host-), V3.4.1 (Strict-Transport-Security of a year).</summary>
public sealed class CookieTests(TestPostgres postgres)
{
    private const string Site = "https://school.larkfield.example";

    [Fact]
    public async Task Over_https_every_cookie_is_secure_and_bound_to_this_host()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var office = await host.Data.OfficeAsync();
        using var browser = host.Browser();
        var set = new List<string>();
        foreach (var answer in new[]
        {
            await browser.GetAsync("/people/sign-in"),
            await browser.PostFormAsync("/people/forgotten", ("Email", office.Email!)),
            await browser.SignInAsync(office),
            await browser.PostFormAsync("/people/account", "/people/account?handler=Name", ("Name", "Rosalind Fenn")),
            await browser.GetAsync("/hangfire"),
        })
        {
            set.AddRange(answer.Headers.TryGetValues("Set-Cookie", out var cookies) ? cookies : []);
        }

        using var second = host.Browser();
        await TokensTests.SecondStepOnAsync(host, office);
        set.AddRange((await second.SignInAsync(office)).Headers.GetValues("Set-Cookie"));
        Assert.Contains(set, cookie => cookie.StartsWith("__Host-school-form=", StringComparison.Ordinal));
        Assert.True(set.Select(cookie => cookie.Split('=')[0]).Distinct().Count() >= 5, string.Join('\n', set));
        Assert.All(set, cookie =>
        {
            Assert.StartsWith("__Host-", cookie, StringComparison.Ordinal);
            foreach (var part in new[] { "; path=/;", "; secure", "; httponly" })
            {
                Assert.Contains(part, cookie + ";", StringComparison.OrdinalIgnoreCase);
            }

            Assert.DoesNotContain("domain=", cookie, StringComparison.OrdinalIgnoreCase);
        });
    }

    [Theory]
    [InlineData(Site, "/people/sign-in", true)]
    [InlineData(Site, "/no-such-page", true)]
    [InlineData(Site, "/api/v1/pupils", true)]
    [InlineData(Site, "/css/base.css", true)]
    [InlineData("http://school.larkfield.example", "/people/sign-in", false)]
    [InlineData("http://127.0.0.1", "/people/sign-in", false)]
    [InlineData("https://localhost", "/people/sign-in", false)]
    public async Task Browsers_are_told_to_keep_to_https_where_the_service_is_reached_by_it(string address, string path, bool told)
    {
        await using var host = await SchoolHost.StartAsync(postgres, settings: ("School:PublicUrl", Site));
        using var client = host.CreateClient(new() { BaseAddress = new(address), AllowAutoRedirect = false });
        var answer = await client.GetAsync(path);
        Assert.Equal(told, answer.Headers.TryGetValues("Strict-Transport-Security", out var values));
        Assert.Equal(told ? "max-age=31536000" : null, values?.Single());
        Assert.NotEqual(HttpStatusCode.BadRequest, answer.StatusCode);
    }
}
