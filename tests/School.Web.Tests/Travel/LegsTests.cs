using System.Net;
using System.Net.Http.Json;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using School.Tests;
using School.Web.Modules.Travel;
using School.Web.Modules.Travel.Routing;
using School.Web.Tests.Host;

namespace School.Web.Tests.Travel;

public sealed class LegsTests(TestPostgres postgres)
{
    private static readonly object Mill = new { label = "Mill Lane", latitude = 52.4, longitude = -1.2 };
    private static readonly object Quarry = new { latitude = 52.43, longitude = -1.24 };

    [Fact]
    public async Task An_instructor_records_lists_and_deletes_their_drives()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        using var api = await host.ApiAsAsync(await host.Data.PersonAsync(instructor));
        var url = $"/api/v1/instructors/{instructor.Id}/legs";
        var made = await api.PostAsJsonAsync(url, Drive("07:10", "07:24"));
        Assert.Equal(HttpStatusCode.Created, made.StatusCode);
        var leg = await made.JsonAsync();
        Assert.Equal((14, "Mill Lane", 52.43), (leg.GetProperty("minutes").GetDouble(), leg.GetProperty("from").GetProperty("label").GetString(), leg.GetProperty("to").GetProperty("latitude").GetDouble()));
        Assert.Equal(1, (await (await api.GetAsync(url)).JsonAsync()).GetProperty("items").GetArrayLength());
        Assert.Equal("drive_overlaps", await (await api.PostAsJsonAsync(url, Drive("07:20", "07:30"))).CodeAsync());
        Assert.Equal(HttpStatusCode.Created, (await api.PostAsJsonAsync(url, Drive("07:24", "07:30"))).StatusCode);
        Assert.Equal(HttpStatusCode.NoContent, (await api.DeleteAsync($"{url}/{leg.GetProperty("id").GetGuid()}")).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await api.DeleteAsync($"{url}/{leg.GetProperty("id").GetGuid()}")).StatusCode);
        Assert.Equal(1, (await (await api.GetAsync(url)).JsonAsync()).GetProperty("items").GetArrayLength());
    }

    [Theory]
    [InlineData("07:24", "07:10", "arrived")]
    [InlineData("07:24", "07:24", "arrived")]
    [InlineData("02:00", "06:01", "arrived")]
    [InlineData("07:55", "08:05", "arrived")]
    public async Task Times_that_cannot_be_are_refused_beside_the_field(string left, string arrived, string field)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        using var api = await host.ApiAsAsync(await host.Data.PersonAsync(instructor));
        Assert.Equal([field], await (await api.PostAsJsonAsync($"/api/v1/instructors/{instructor.Id}/legs", Drive(left, arrived))).WrongFieldsAsync());
    }

    [Fact]
    public async Task Places_and_moments_must_be_there()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        using var api = await host.ApiAsAsync(await host.Data.PersonAsync(instructor));
        var url = $"/api/v1/instructors/{instructor.Id}/legs";
        Assert.Equal(["arrived", "from", "left", "to"], await (await api.PostAsJsonAsync(url, new { })).WrongFieldsAsync());
        Assert.Equal(["to"], await (await api.PostAsJsonAsync(url, Drive("07:10", "07:24", to: new { latitude = 91, longitude = 0 }))).WrongFieldsAsync());
        Assert.Equal(["to"], await (await api.PostAsJsonAsync(url, Drive("07:10", "07:24", to: Mill))).WrongFieldsAsync());
    }

    [Fact]
    public async Task Drives_of_somebody_else_are_not_found()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (mine, other) = (await host.Data.InstructorAsync(), await host.Data.InstructorAsync("Alder Quince"));
        using var api = await host.ApiAsAsync(await host.Data.PersonAsync(mine));
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var url = $"/api/v1/instructors/{other.Id}/legs";
        Assert.Equal(HttpStatusCode.NotFound, (await api.PostAsJsonAsync(url, Drive("07:10", "07:24"))).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await api.GetAsync(url)).StatusCode);
        var leg = await (await office.PostAsJsonAsync(url, Drive("07:10", "07:24"))).JsonAsync();
        Assert.Equal(HttpStatusCode.NotFound, (await api.DeleteAsync($"{url}/{leg.GetProperty("id").GetGuid()}")).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await office.DeleteAsync($"/api/v1/instructors/{mine.Id}/legs/{leg.GetProperty("id").GetGuid()}")).StatusCode);
    }

    [Fact]
    public async Task Old_drives_are_deleted_and_new_ones_kept()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        await host.AddAsync(Row(instructor.Id, Duration.FromDays(401)), Row(instructor.Id, Duration.FromDays(399)));
        await using var scope = host.Services.CreateAsyncScope();
        Assert.Equal(1, await scope.ServiceProvider.GetRequiredService<ClearOldTravel>().RunAsync(CancellationToken.None));
        Assert.Equal(1, await host.WithDbAsync(db => db.Set<RecordedDrive>().CountAsync()));

        RecordedDrive Row(Guid id, Duration ago) => new()
        {
            InstructorId = id,
            FromLabel = "",
            FromLatitude = 52.4,
            FromLongitude = -1.2,
            ToLabel = "",
            ToLatitude = 52.5,
            ToLongitude = -1.2,
            LeftAt = host.Clock.GetCurrentInstant() - ago,
            ArrivedAt = host.Clock.GetCurrentInstant() - ago + Duration.FromMinutes(9),
        };
    }

    private static object Drive(string left, string arrived, object? to = null) =>
        new { from = Mill, to = to ?? Quarry, left = $"2026-03-02T{left}:00Z", arrived = $"2026-03-02T{arrived}:00Z" };
}
