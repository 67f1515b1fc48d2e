using System.Net;
using System.Net.Http.Json;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.Cars;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Tests.Host;

namespace School.Web.Tests.Cars;

public sealed class HoldingTests(TestPostgres postgres)
{
    [Fact]
    public async Task A_dated_holding_cuts_the_standing_one_in_two_around_it_and_gives_the_days_back_when_it_is_dropped()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var yard = await YardAsync(host);
        Assert.Equal(HttpStatusCode.Created, (await yard.HoldAsync(yard.Marigold, "2026-01-01")).StatusCode);
        var cover = await yard.HoldAsync(yard.Rowan, "2026-03-09", "2026-03-13");
        Assert.Equal(HttpStatusCode.Created, cover.StatusCode);
        Assert.Equal(
            ["Marigold 2026-01-01..2026-03-08", "Rowan 2026-03-09..2026-03-13", "Marigold 2026-03-14.."],
            await yard.ShowAsync());

        var second = await yard.HoldAsync(yard.Rowan, "2026-03-04", "2026-03-05");
        Assert.Equal(HttpStatusCode.Created, second.StatusCode);
        Assert.Equal(HttpStatusCode.NoContent, (await yard.Office.DeleteAsync(second.Headers.Location)).StatusCode);
        Assert.Equal(HttpStatusCode.NoContent, (await yard.Office.DeleteAsync(cover.Headers.Location)).StatusCode);
        Assert.Equal(["Marigold 2026-01-01.."], await yard.ShowAsync());
    }

    [Fact]
    public async Task A_dated_holding_that_runs_ends_early_and_the_standing_holder_goes_on()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var yard = await YardAsync(host);
        await yard.HoldAsync(yard.Marigold, "2026-01-01");
        var cover = await yard.HoldAsync(yard.Rowan, "2026-02-27", "2026-03-13");
        Assert.Equal(HttpStatusCode.NoContent, (await yard.Office.DeleteAsync($"{cover.Headers.Location}?lastDay=2026-03-04")).StatusCode);
        Assert.Equal(
            ["Marigold 2026-01-01..2026-02-26", "Rowan 2026-02-27..2026-03-04", "Marigold 2026-03-05.."],
            await yard.ShowAsync());
        Assert.Equal(["lastDay"], await (await yard.Office.DeleteAsync($"{cover.Headers.Location}?lastDay=2026-02-20")).WrongFieldsAsync());
    }

    [Fact]
    public async Task A_holding_that_is_over_stays_as_history()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var yard = await YardAsync(host);
        var past = await yard.HoldAsync(yard.Rowan, "2026-02-02", "2026-02-06");
        var refused = await yard.Office.DeleteAsync(past.Headers.Location);
        Assert.Equal((HttpStatusCode.UnprocessableEntity, "holding_over"), (refused.StatusCode, await refused.CodeAsync()));
        Assert.Equal(["Rowan 2026-02-02..2026-02-06"], await yard.ShowAsync());
    }

    [Fact]
    public async Task A_new_standing_holder_leaves_out_days_that_are_promised()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var yard = await YardAsync(host);
        await yard.HoldAsync(yard.Rowan, "2026-03-09", "2026-03-13");
        Assert.Equal(HttpStatusCode.Created, (await yard.HoldAsync(yard.Marigold, "2026-03-02")).StatusCode);
        Assert.Equal(
            ["Marigold 2026-03-02..2026-03-08", "Rowan 2026-03-09..2026-03-13", "Marigold 2026-03-14.."],
            await yard.ShowAsync());
    }

    [Theory]
    [InlineData("2026-03-12", "2026-03-20")]
    [InlineData("2026-03-01", "2026-03-09")]
    [InlineData("2026-03-10", "2026-03-11")]
    [InlineData("2026-03-01", "2026-03-31")]
    public async Task Dated_holdings_never_overlap_and_the_refusal_names_who_has_the_car(string from, string to)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var yard = await YardAsync(host);
        await yard.HoldAsync(yard.Marigold, "2026-03-09", "2026-03-13");
        var refused = await yard.HoldAsync(yard.Rowan, from, to);
        Assert.Equal((HttpStatusCode.Conflict, "car_held"), (refused.StatusCode, await refused.CodeAsync()));
        Assert.Contains("Marigold", (await refused.JsonAsync()).GetProperty("detail").GetString(), StringComparison.Ordinal);
        Assert.Equal(["Marigold 2026-03-09..2026-03-13"], await yard.ShowAsync());
    }

    [Fact]
    public async Task Two_standing_holders_at_once_are_refused()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var yard = await YardAsync(host);
        await yard.HoldAsync(yard.Marigold, "2026-01-01");
        Assert.Equal(HttpStatusCode.Conflict, (await yard.HoldAsync(yard.Rowan, "2026-04-01")).StatusCode);
        Assert.Equal(HttpStatusCode.Conflict, (await yard.HoldAsync(yard.Marigold, "2026-04-01", "2026-04-02")).StatusCode);
        Assert.Equal(["Marigold 2026-01-01.."], await yard.ShowAsync());
    }

    [Fact]
    public async Task Many_who_ask_for_the_same_days_at_once_get_one_yes_and_otherwise_no()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var yard = await YardAsync(host);
        var answers = await Task.WhenAll(Enumerable.Range(0, 12).Select(n =>
            yard.HoldAsync(n % 2 == 0 ? yard.Marigold : yard.Rowan, "2026-03-09", "2026-03-13")));
        Assert.Single(answers, a => a.StatusCode == HttpStatusCode.Created);
        Assert.All(answers.Where(a => a.StatusCode != HttpStatusCode.Created), a => Assert.Equal(HttpStatusCode.Conflict, a.StatusCode));
        Assert.Single(await yard.ShowAsync());
    }

    [Fact]
    public async Task The_database_itself_keeps_a_car_from_two_instructors_and_its_no_is_ours()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var yard = await YardAsync(host);
        await host.AddAsync(new Holding { CarId = yard.Car, InstructorId = yard.Marigold, From = new(2026, 3, 9) });
        var refusal = await host.WithDbAsync(async db => (await db.InTransactionAsync<Holding>(
            _ => Task.FromResult<Outcome<Holding>>(
                db.Add(new Holding { CarId = yard.Car, InstructorId = yard.Rowan, From = new(2026, 3, 13), To = new LocalDate(2026, 3, 13) }).Entity),
            CancellationToken.None)).Refusal!);
        Assert.Equal("car_held", refusal.Code);
        Assert.Equal(1, await host.WithDbAsync(db => db.Set<Holding>().CountAsync(h => h.CarId == yard.Car)));
    }

    [Fact]
    public async Task What_is_wrong_with_a_holding_is_said_beside_the_field()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var yard = await YardAsync(host);
        Assert.Equal(["to"], await (await yard.HoldAsync(yard.Marigold, "2026-03-09", "2026-03-08")).WrongFieldsAsync());
        Assert.Equal(["instructorId"], await (await yard.HoldAsync(Guid.NewGuid(), "2026-03-09")).WrongFieldsAsync());
        Assert.Equal(["from"], await (await yard.HoldAsync(yard.Marigold, "2020-03-09")).WrongFieldsAsync());
        Assert.Equal(["from", "instructorId"], await (await yard.Office.PostAsJsonAsync($"/api/v1/cars/{yard.Car}/holdings", new { })).WrongFieldsAsync());
        Assert.Equal(HttpStatusCode.NotFound, (await yard.Office.PostAsJsonAsync($"/api/v1/cars/{Guid.NewGuid()}/holdings", new { })).StatusCode);
        Assert.Empty(await yard.ShowAsync());
    }

    private static async Task<Yard> YardAsync(SchoolHost host)
    {
        var marigold = await host.Data.InstructorAsync("Marigold");
        var rowan = await host.Data.InstructorAsync("Rowan");
        return new(await host.ApiAsAsync(await host.Data.OfficeAsync()), (await host.Data.CarAsync()).Id, marigold.Id, rowan.Id);
    }

    /// <summary>One car, two instructors and the office.</summary>
    private sealed record Yard(HttpClient Office, Guid Car, Guid Marigold, Guid Rowan)
    {
        public Task<HttpResponseMessage> HoldAsync(Guid instructorId, string from, string? to = null) =>
            Office.PostAsJsonAsync($"/api/v1/cars/{Car}/holdings", new { instructorId, from, to });

        public async Task<string[]> ShowAsync()
        {
            var items = (await (await Office.GetAsync($"/api/v1/cars/{Car}/holdings")).JsonAsync()).GetProperty("items");
            return [.. items.EnumerateArray().Select(h =>
                $"{(h.GetProperty("instructorId").GetGuid() == Marigold ? "Marigold" : "Rowan")} {h.GetProperty("from")}..{h.GetProperty("to")}")];
        }
    }
}
