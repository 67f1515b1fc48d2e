using System.Net;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.Cars;
using School.Web.Tests.Host;

namespace School.Web.Tests.Cars;

public sealed class CarPageTests(TestPostgres postgres)
{
    private static readonly (string, string)[] SilverHatch =
    [
        ("Input.Label", "silver hatch"), ("Input.Plate", "lk24fld"), ("Input.Gearbox", "Manual"), ("Input.DualControls", "true"),
        ("Input.FirstRegistered.Day", "1"), ("Input.FirstRegistered.Month", "3"), ("Input.FirstRegistered.Year", "2023"),
        ("Input.MotExpires", "2026-03-14"), ("Input.TaxExpires", "2026-02-28"),
    ];

    [Fact]
    public async Task The_office_adds_a_car_and_gives_it_to_an_instructor_and_its_papers_are_told_in_words()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var marigold = await host.Data.InstructorAsync("Marigold Ashby");
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var added = await office.PostFormAsync("/cars/new", SilverHatch);
        Assert.Equal(HttpStatusCode.Redirect, added.StatusCode);
        var holdings = added.Headers.Location!.ToString();
        var given = await office.PostFormAsync(holdings, ("InstructorId", marigold.Id.ToString()), ("From", "2026-03-02"));
        Assert.Equal(HttpStatusCode.Redirect, given.StatusCode);

        var page = await (await office.GetAsync(holdings[..holdings.LastIndexOf('/')])).TextAsync();
        Assert.Contains("12 days left, Saturday 14 March 2026; a test from Sunday 15 February 2026 keeps the date", page, StringComparison.Ordinal);
        Assert.Contains("ran out 2 days ago", page, StringComparison.Ordinal);
        Assert.Contains("Marigold Ashby", page, StringComparison.Ordinal);
        var list = await (await office.GetAsync("/cars")).TextAsync();
        Assert.Contains("LK24 FLD", list, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_wrong_car_keeps_what_was_typed_and_says_what_is_wrong()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var answer = await office.PostFormAsync("/cars/new", [.. SilverHatch.Where(f => f.Item1 != "Input.Plate"), ("Input.Plate", "no plate at all 🚗")]);
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        var page = await answer.TextAsync();
        Assert.Contains("no plate at all 🚗", page, StringComparison.Ordinal);
        Assert.Contains("A number plate has two to eight letters and digits", page, StringComparison.Ordinal);
        Assert.Equal(0, await host.WithDbAsync(db => db.Set<Car>().CountAsync()));
    }

    [Fact]
    public async Task A_time_that_the_clocks_skip_does_not_take_a_car_off_the_road()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var url = $"/cars/{(await host.Data.CarAsync()).Id}/off-road";
        // Clocks go forward on 29 March 2026 at 01:00 UTC (alphagov/frontend, when-do-the-clocks-change.json).
        var skipped = await office.PostFormAsync(url, ("Reason", "service"), ("FromDay", "2026-03-29"), ("FromTime", "01:30"));
        Assert.Contains("the clocks go forward", await skipped.TextAsync(), StringComparison.Ordinal);
        Assert.Equal(0, await host.WithDbAsync(db => db.Set<OffRoadPeriod>().CountAsync()));

        // Back on 25 October 2026: 01:30 comes twice, and the car is off the road for both.
        var twice = await office.PostFormAsync(
            url, ("Reason", "service"), ("FromDay", "2026-10-25"), ("FromTime", "01:30"), ("UntilDay", "2026-10-25"), ("UntilTime", "01:30"));
        Assert.Equal(HttpStatusCode.Redirect, twice.StatusCode);
        var period = await host.WithDbAsync(db => db.Set<OffRoadPeriod>().SingleAsync());
        Assert.Equal(Duration.FromHours(1), period.EndsAt!.Value - period.StartsAt);
    }

    [Fact]
    public async Task A_time_off_the_road_is_changed_on_its_page()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var url = $"/cars/{(await host.Data.CarAsync()).Id}/off-road";
        await office.PostFormAsync(url, ("Reason", "service"), ("FromDay", "2026-03-04"), ("FromTime", "09:00"));
        var period = await host.WithDbAsync(db => db.Set<OffRoadPeriod>().AsNoTracking().SingleAsync());
        var change = $"{url}?period={period.Id}";
        Assert.Contains($"{change}#form", await (await office.GetAsync(url)).TextAsync(), StringComparison.Ordinal);
        var form = await (await office.GetAsync(change)).TextAsync();
        Assert.Contains("Change this time off the road", form, StringComparison.Ordinal);
        Assert.Contains("value=\"2026-03-04\"", form, StringComparison.Ordinal);

        (string, string)[] longer =
            [("Reason", "service and tyres"), ("FromDay", "2026-03-04"), ("FromTime", "09:00"), ("UntilDay", "2026-03-05"), ("UntilTime", "17:00"), ("Version", "1")];
        Assert.Equal(url, (await office.PostFormAsync(change, longer)).Headers.Location?.ToString());
        var kept = await host.WithDbAsync(db => db.Set<OffRoadPeriod>().AsNoTracking().SingleAsync());
        Assert.Equal((period.Id, "service and tyres", Instant.FromUtc(2026, 3, 5, 17, 0)), (kept.Id, kept.Reason, kept.EndsAt));
        Assert.Contains("Somebody changed this after you opened it", await (await office.PostFormAsync(change, longer)).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_change_by_somebody_else_in_between_is_told_and_not_overwritten()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var car = await host.Data.CarAsync();
        var url = $"/cars/{car.Id}/change";
        Assert.Equal(HttpStatusCode.Redirect, (await office.PostFormAsync(url, [.. SilverHatch, ("Version", "1")])).StatusCode);
        var late = await office.PostFormAsync(url, [.. SilverHatch.Where(f => f.Item1 != "Input.Label"), ("Input.Label", "red hatch"), ("Version", "1")]);
        Assert.Contains("Somebody changed this after you opened it", await late.TextAsync(), StringComparison.Ordinal);
        Assert.Equal("silver hatch", await host.WithDbAsync(db => db.Set<Car>().Select(c => c.Label).SingleAsync()));
    }

    [Fact]
    public async Task An_instructor_looks_at_cars_and_the_forms_are_closed_to_them()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        var car = await host.Data.CarAsync(instructor.Id);
        using var pages = await host.PagesAsAsync(await host.Data.PersonAsync(instructor));
        var page = await pages.GetAsync($"/cars/{car.Id}");
        Assert.Equal(HttpStatusCode.OK, page.StatusCode);
        Assert.DoesNotContain("/change", await page.TextAsync(), StringComparison.Ordinal);
        foreach (var closed in new[] { "/cars/new", $"/cars/{car.Id}/change", $"/cars/{car.Id}/holdings", $"/cars/{car.Id}/off-road" })
        {
            Assert.Contains("not-allowed", (await pages.GetAsync(closed)).Headers.Location?.ToString() ?? "", StringComparison.Ordinal);
        }
    }
}
