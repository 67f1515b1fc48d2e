using System.Net;
using School.Tests;
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
}
