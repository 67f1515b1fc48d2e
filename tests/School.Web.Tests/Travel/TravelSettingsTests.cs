using System.Net;
using School.Tests;
using School.Web.Tests.Host;

namespace School.Web.Tests.Travel;

public sealed class TravelSettingsTests(TestPostgres postgres)
{
    private const string Url = "/api/v1/travel/settings";

    [Fact]
    public async Task The_office_changes_how_driving_times_are_estimated()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var read = await office.GetAsync(Url);
        Assert.Equal(24, (await read.JsonAsync()).GetProperty("weekdayMph").GetArrayLength());
        var changed = await office.SendAsync(HttpMethod.Put, Url, Settings(1.5, 18), ("If-Match", read.Headers.ETag!.ToString()));
        Assert.Equal(HttpStatusCode.OK, changed.StatusCode);
        var now = await (await office.GetAsync(Url)).JsonAsync();
        Assert.Equal((1.5, 18), (now.GetProperty("detourFactor").GetDouble(), now.GetProperty("sundayMph")[23].GetDouble()));
        Assert.Equal(HttpStatusCode.PreconditionFailed, (await office.SendAsync(HttpMethod.Put, Url, Settings(1.6, 18), ("If-Match", read.Headers.ETag.ToString()))).StatusCode);
    }

    [Theory]
    [InlineData(0.5, 20, 24, "detourFactor")]
    [InlineData(1.4, 90, 24, "weekdayMph")]
    [InlineData(1.4, 20, 23, "weekdayMph")]
    public async Task Wrong_settings_are_refused_beside_the_field(double detour, double mph, int hours, string wrong)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var fields = await (await office.SendAsync(HttpMethod.Put, Url, Settings(detour, mph, hours), ("If-Match", "*"))).WrongFieldsAsync();
        Assert.Contains(wrong, fields);
        Assert.Equal(1.35, (await (await office.GetAsync(Url)).JsonAsync()).GetProperty("detourFactor").GetDouble());
    }

    [Fact]
    public async Task Settings_are_the_offices_alone()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var instructor = await host.ApiAsAsync(await host.Data.PersonAsync(await host.Data.InstructorAsync()));
        Assert.Equal(HttpStatusCode.Forbidden, (await instructor.GetAsync(Url)).StatusCode);
    }

    private static object Settings(double detourFactor, double mph, int hours = 24)
    {
        var speeds = Enumerable.Repeat(mph, hours).ToArray();
        return new { detourFactor, weekdayMph = speeds, saturdayMph = speeds, sundayMph = speeds };
    }
}
