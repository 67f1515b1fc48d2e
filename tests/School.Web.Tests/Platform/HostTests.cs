using System.Net;
using School.Tests;
using School.Web.Platform.Api;
using School.Web.Tests.Host;

namespace School.Web.Tests.Platform;

public sealed class HostTests(TestPostgres postgres)
{
    [Fact]
    public async Task Health_answers_without_signing_in_and_everything_else_is_closed()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var client = host.Anonymous();
        Assert.Equal(HttpStatusCode.OK, (await client.GetAsync("/health/live")).StatusCode);
        Assert.Equal(HttpStatusCode.OK, (await client.GetAsync("/health/ready")).StatusCode);
    }

    [Fact]
    public async Task A_form_that_is_larger_than_what_is_taken_gets_a_page_that_says_so()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var answer = await office.PostFormAsync("/people/account", "/people/account?handler=Name", ("Name", new string('x', (int)BodyLimit.Largest)));
        Assert.Equal(HttpStatusCode.RequestEntityTooLarge, answer.StatusCode);
        Assert.Contains("<h1>That is more than this takes at once</h1>", await answer.TextAsync(), StringComparison.Ordinal);
    }
}
