using System.Net;
using Microsoft.EntityFrameworkCore;
using School.Tests;
using School.Web.Modules.Travel;
using School.Web.Tests.Host;

namespace School.Web.Tests.Travel;

public sealed class SettingsPageTests(TestPostgres postgres)
{
    private const string Page = "/travel/settings";

    [Fact]
    public async Task The_office_keeps_speeds_from_hour_to_hour_and_wrong_ones_are_told_by_day()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        Assert.Equal(HttpStatusCode.Redirect, (await office.PostFormAsync(Page, Form("1.4", "1", ("0", "28"), ("7", "17.5"), ("", ""), ("9", "20")))).StatusCode);
        var kept = await host.WithDbAsync(db => db.Set<TravelSettings>().AsNoTracking().SingleAsync());
        Assert.Equal(1.4, kept.DetourFactor);
        Assert.All([kept.WeekdayMph, kept.SaturdayMph, kept.SundayMph], speeds =>
            Assert.Equal([.. Enumerable.Repeat(28.0, 7), 17.5, 17.5, .. Enumerable.Repeat(20.0, 15)], speeds));

        var shown = await office.GetStringAsync(Page);
        Assert.Equal(5, shown.Split("name=\"Sunday[").Length / 2);

        var wrong = await (await office.PostFormAsync(Page, Form("1.4", "2", ("0", "fast")))).TextAsync();
        Assert.Contains("Sunday: Every speed must be from 1 to 70 mph.", wrong, StringComparison.Ordinal);
        Assert.Contains("value=\"fast\"", wrong, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("", "20", "Saturday: Choose from when each speed holds.")]
    [InlineData("7", "20", "Saturday: Give a speed from midnight on, and each later hour once.")]
    [InlineData("0", "", "Saturday: Give a speed from midnight on, and each later hour once.")]
    [InlineData("0", "80", "Saturday: Every speed must be from 1 to 70 mph.")]
    public async Task Lines_that_do_not_make_a_day_are_told_and_nothing_is_saved(string from, string mph, string sentence)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        Assert.Contains(sentence, await (await office.PostFormAsync(Page, Form("1.4", "1", (from, mph)))).TextAsync(), StringComparison.Ordinal);
        Assert.Equal(1.35, (await host.WithDbAsync(db => db.Set<TravelSettings>().AsNoTracking().SingleAsync())).DetourFactor);
    }

    [Fact]
    public async Task Settings_that_changed_meanwhile_are_not_overwritten()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        await office.PostFormAsync(Page, Form("1.4", "1", ("0", "28")));
        Assert.Contains("Somebody changed this", await (await office.PostFormAsync(Page, Form("1.5", "1", ("0", "30")))).TextAsync(), StringComparison.Ordinal);
        Assert.Equal(1.4, (await host.WithDbAsync(db => db.Set<TravelSettings>().AsNoTracking().SingleAsync())).DetourFactor);
    }

    private static (string, string)[] Form(string detour, string version, params (string From, string Mph)[] rows) =>
    [
        ("Version", version), ("DetourFactor", detour),
        .. new[] { "Weekday", "Saturday", "Sunday" }.SelectMany(day => rows.SelectMany((row, i) => new[] { ($"{day}[{i}].From", row.From), ($"{day}[{i}].Mph", row.Mph) })),
    ];
}
