using System.Net;
using Microsoft.EntityFrameworkCore;
using School.Tests;
using School.Web.Modules.Travel;
using School.Web.Tests.Host;

namespace School.Web.Tests.Travel;

public sealed class SettingsPageTests(TestPostgres postgres)
{
    [Fact]
    public async Task The_office_keeps_speeds_by_hour_and_wrong_ones_are_told_by_day()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        Assert.Equal(HttpStatusCode.Redirect, (await office.PostFormAsync("/travel/settings", Form("1.4", "17.5", "1"))).StatusCode);
        var kept = await host.WithDbAsync(db => db.Set<TravelSettings>().AsNoTracking().SingleAsync());
        Assert.Equal((1.4, 17.5), (kept.DetourFactor, kept.SaturdayMph[23]));

        var wrong = await (await office.PostFormAsync("/travel/settings", Form("1.4", "fast", "2"))).TextAsync();
        Assert.Contains("Sunday: Every speed must be from 1 to 70 mph.", wrong, StringComparison.Ordinal);
        Assert.Contains("value=\"fast\"", wrong, StringComparison.Ordinal);
    }

    private static (string, string)[] Form(string detour, string speed, string version) =>
    [
        ("Version", version), ("DetourFactor", detour),
        .. Enumerable.Range(0, 24).SelectMany(hour => new[] { ($"Weekday[{hour}]", speed), ($"Saturday[{hour}]", speed), ($"Sunday[{hour}]", speed) }),
    ];
}
