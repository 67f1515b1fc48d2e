using System.Net;
using System.Text.Json;
using School.Tests;
using School.Web.Tests.Host;

namespace School.Web.Tests.Pupils;

public sealed class AvailabilityTests(TestPostgres postgres)
{
    private static readonly object Evenings = new { times = new[] { new { day = "thursday", from = "17:00", to = "20:30" }, new { day = "monday", from = "09:00", to = "12:00" } } };

    [Fact]
    public async Task A_pupil_keeps_their_weekly_times_and_the_staff_reads_them_in_order()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var marigold = await host.Data.InstructorAsync();
        var tamsin = await host.Data.PupilAsync(instructor: marigold.Id);
        using var own = await host.ApiAsAsync(await host.Data.PersonAsync(tamsin));
        using var instructor = await host.ApiAsAsync(await host.Data.PersonAsync(marigold));
        var url = $"/api/v1/pupils/{tamsin.Id}/availability";
        var tag = (await own.GetAsync(url)).Headers.ETag!.Tag;

        var put = await own.SendAsync(HttpMethod.Put, url, Evenings, ("If-Match", tag));

        Assert.Equal(HttpStatusCode.OK, put.StatusCode);
        Assert.NotEqual(tag, put.Headers.ETag!.Tag);
        var times = (await (await instructor.GetAsync(url)).JsonAsync()).GetProperty("times").EnumerateArray().Select(Words);
        Assert.Equal(["monday 09:00 12:00", "thursday 17:00 20:30"], times);
        Assert.Equal(HttpStatusCode.PreconditionFailed, (await own.SendAsync(HttpMethod.Put, url, Evenings, ("If-Match", tag))).StatusCode);
        Assert.Equal(HttpStatusCode.PreconditionRequired, (await own.SendAsync(HttpMethod.Put, url, Evenings)).StatusCode);
    }

    [Theory]
    [InlineData("17:00", "19:00", "18:59", "20:00", "times[1].from")]
    [InlineData("17:00", "17:00", "18:00", "20:00", "times[0].to")]
    [InlineData("17:00", "19:00", "20:00", "00:00", "times[1].to")]
    [InlineData("5 pm", "19:00", "20:00", "21:00", "times[0].from")]
    public async Task Times_that_contradict_are_told_beside_the_field_and_nothing_is_kept(string from, string to, string from2, string to2, string wrong)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var tamsin = await host.Data.PupilAsync();
        using var own = await host.ApiAsAsync(await host.Data.PersonAsync(tamsin));
        var url = $"/api/v1/pupils/{tamsin.Id}/availability";
        var body = new { times = new[] { new { day = "friday", from, to }, new { day = "friday", from = from2, to = to2 } } };

        Assert.Equal([wrong], await (await own.SendAsync(HttpMethod.Put, url, body, ("If-Match", "*"))).WrongFieldsAsync());
        Assert.Empty((await (await own.GetAsync(url)).JsonAsync()).GetProperty("times").EnumerateArray());
    }

    [Fact]
    public async Task Times_of_somebody_else_are_not_found()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var tamsin = await host.Data.PupilAsync();
        using var other = await host.ApiAsAsync(await host.Data.PersonAsync(await host.Data.PupilAsync("Corin Marsh")));
        var url = $"/api/v1/pupils/{tamsin.Id}/availability";

        Assert.Equal(HttpStatusCode.NotFound, (await other.GetAsync(url)).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await other.SendAsync(HttpMethod.Put, url, Evenings, ("If-Match", "*"))).StatusCode);
    }

    [Fact]
    public async Task On_the_page_times_are_added_for_several_days_and_removed_one_by_one()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var tamsin = await host.Data.PupilAsync();
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(tamsin));
        var page = $"/pupils/{tamsin.Id}/availability";
        Assert.Contains(page, await (await browser.GetAsync("/pupils/me")).TextAsync());

        var added = await browser.PostFormAsync(
            page, ("Version", "1"), ("Input.Days", "Tuesday"), ("Input.Days", "Saturday"), ("Input.From", "10:00"), ("Input.To", "13:30"));
        Assert.Equal(HttpStatusCode.Redirect, added.StatusCode);
        Assert.Contains("10:00 to 13:30", await (await browser.GetAsync(page)).TextAsync());

        var refused = await browser.PostFormAsync(page, ("Version", "2"), ("Input.Days", "Saturday"), ("Input.From", "13:00"), ("Input.To", "14:00"));
        Assert.Contains("This overlaps 10:00 to 13:30 on Saturday.", await refused.TextAsync());

        Assert.Equal(HttpStatusCode.Redirect, (await browser.PostFormAsync(page, $"{page}?handler=Remove", ("Version", "2"), ("index", "0"))).StatusCode);
        using var api = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var left = (await (await api.GetAsync($"/api/v1/pupils/{tamsin.Id}/availability")).JsonAsync()).GetProperty("times").EnumerateArray();
        Assert.Equal(["saturday 10:00 13:30"], left.Select(Words));
    }

    private static string Words(JsonElement time) => $"{time.GetProperty("day").GetString()} {time.GetProperty("from").GetString()} {time.GetProperty("to").GetString()}";
}
