using System.Net;
using School.Tests;
using School.Web.Tests.Host;

namespace School.Web.Tests.People;

public sealed class SignInTests(TestPostgres postgres)
{
    [Fact]
    public async Task Each_role_comes_to_its_own_first_page()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        foreach (var (person, home) in new[]
        {
            (await host.Data.PersonAsync(await host.Data.PupilAsync()), "/diary/home"),
            (await host.Data.PersonAsync(instructor), "/diary/day"),
            (await host.Data.OfficeAsync(), "/diary/board"),
        })
        {
            using var browser = await host.PagesAsAsync(person);
            var answer = await browser.GetAsync("/");
            Assert.Equal(home, answer.Headers.Location?.OriginalString);
        }
    }

    [Fact]
    public async Task Nobody_gets_further_than_the_sign_in_page_without_signing_in()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var browser = host.Browser();
        var answer = await browser.GetAsync("/");
        Assert.Equal(HttpStatusCode.Redirect, answer.StatusCode);
        Assert.Equal("/people/sign-in?next=%2F", answer.Headers.Location?.PathAndQuery);
    }
}
