using System.Net;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Travel;
using School.Tests;
using School.Web.Modules.Travel;
using School.Web.Tests.Host;

namespace School.Web.Tests.Travel;

public sealed class FitTests(TestPostgres postgres)
{
    private const string Url = "/api/v1/travel/fit";

    [Fact]
    public async Task Fewer_than_fifty_drives_say_how_many_are_missing_and_change_nothing()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await SeedAsync(host, 43);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var read = await office.GetAsync(Url);
        var fit = await read.JsonAsync();
        Assert.Equal((43, 50, 7), (fit.GetProperty("legs").GetInt32(), fit.GetProperty("needed").GetInt32(), fit.GetProperty("missing").GetInt32()));
        Assert.Equal("too_few_drives", await (await office.SendAsync(HttpMethod.Post, Url, null, ("If-Match", read.Headers.ETag!.ToString()))).CodeAsync());
        using var pages = await host.PagesAsAsync(await host.Data.OfficeAsync());
        Assert.Contains("7 more drives are needed", await pages.GetStringAsync("/travel/fit"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_fit_is_shown_with_its_error_and_used_only_when_the_office_says_so()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await SeedAsync(host, 90);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var read = await office.GetAsync(Url);
        var fit = await read.JsonAsync();
        Assert.True(fit.GetProperty("errorAfter").GetProperty("medianAbsoluteMinutes").GetDouble() < fit.GetProperty("errorBefore").GetProperty("medianAbsoluteMinutes").GetDouble() / 2);
        Assert.Equal(9, fit.GetProperty("outliers").GetArrayLength());
        var band = fit.GetProperty("bands").EnumerateArray().Single(b => b.GetProperty("days").GetString() == "weekday" && b.GetProperty("fromHour").GetInt32() == 9);
        Assert.InRange(band.GetProperty("fittedMph").GetDouble(), 9.5, 10.5);
        Assert.Equal(20, (await SettingsAsync(host)).WeekdayMph[10]);

        Assert.Equal(HttpStatusCode.PreconditionRequired, (await office.PostAsync(Url, null)).StatusCode);
        var used = await office.SendAsync(HttpMethod.Post, Url, null, ("If-Match", read.Headers.ETag!.ToString()));
        Assert.Equal(HttpStatusCode.OK, used.StatusCode);
        Assert.Equal(band.GetProperty("fittedMph").GetDouble(), (await SettingsAsync(host)).WeekdayMph[10]);
        Assert.Equal(HttpStatusCode.PreconditionFailed, (await office.SendAsync(HttpMethod.Post, Url, null, ("If-Match", read.Headers.ETag.ToString()))).StatusCode);
    }

    [Fact]
    public async Task The_office_presses_the_button_of_the_page_and_odd_drives_are_listed()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await SeedAsync(host, 60);
        using var pages = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var shown = await pages.GetStringAsync("/travel/fit");
        Assert.Contains("Use the fitted speeds", shown, StringComparison.Ordinal);
        Assert.Contains("Passed over", shown, StringComparison.Ordinal);
        Assert.Contains("Mill Lane", shown, StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.Redirect, (await pages.PostFormAsync("/travel/fit", ("Version", "1"))).StatusCode);
        Assert.InRange((await SettingsAsync(host)).WeekdayMph[10], 9.5, 10.5);
        Assert.Contains("Somebody changed this", await (await pages.PostFormAsync("/travel/fit", ("Version", "1"))).TextAsync(), StringComparison.Ordinal);
        Assert.Contains("Mill Lane", await pages.GetStringAsync("/travel/drives"), StringComparison.Ordinal);
    }

    private static Task<TravelSettings> SettingsAsync(SchoolHost host) => host.WithDbAsync(db => db.Set<TravelSettings>().AsNoTracking().SingleAsync());

    /// <summary>Drives of late mornings at half the usual speed, within 8 %; every tenth with a forgotten tap.</summary>
    private static async Task SeedAsync(SchoolHost host, int count)
    {
        var instructor = await host.Data.InstructorAsync();
        var usual = new StraightLineTravel(new());
        var drives = Enumerable.Range(0, count).Select(n =>
        {
            var left = (new LocalDate(2026, 2, 2).PlusDays((n % 4 * 7) + (n / 4 % 5)) + new LocalTime(9 + (n / 20), 5)).InZoneStrictly(SchoolHost.London);
            var (from, to) = (TestData.PlaceAt(), TestData.PlaceAt(10 + (n % 7), n % 5));
            var miles = usual.Between(from.At(), to.At(), left.LocalDateTime).Miles;
            var minutes = miles / 10 * 60 * (1 + ((n % 9) - 4) / 50.0) * (n % 10 == 3 ? 4 : 1);
            return (object)new RecordedDrive
            {
                InstructorId = instructor.Id,
                FromLabel = "Mill Lane",
                FromLatitude = from.Latitude,
                FromLongitude = from.Longitude,
                ToLabel = "Quarry Rise",
                ToLatitude = to.Latitude,
                ToLongitude = to.Longitude,
                LeftAt = left.ToInstant(),
                ArrivedAt = left.ToInstant() + Duration.FromSeconds(Math.Round(minutes * 60)),
            };
        });
        await host.AddAsync([.. drives]);
    }
}
