using System.Net;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.Cars;
using School.Web.Modules.Diary;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Tests.Host;

namespace School.Web.Tests.Diary.Cars;

public sealed class AllocationTests(TestPostgres postgres)
{
    private static readonly LocalDate Tuesday = new(2026, 3, 3);

    [Fact]
    public async Task Two_instructors_change_cars_for_a_day_and_their_lessons_with_them()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (office, marigold, bram) = await TwoAsync(host);
        using var api = office;
        var before = await CarsOfLessonsAsync(host);
        // Only Marigold's pupil needs dual controls, and her car has none.
        await host.WithDbAsync(db => db.Set<Pupil>().ExecuteUpdateAsync(row => row.SetProperty(p => p.NeedsDualControls, p => p.Name == "Tamsin Oakley")));
        await host.WithDbAsync(db => db.Set<Car>().Where(c => c.Id == before[marigold.Id]).ExecuteUpdateAsync(row => row.SetProperty(c => c.DualControls, false)));

        var proposal = await ProposeAsync(api);
        Assert.Equal([true, true], proposal.GetProperty("lines").EnumerateArray().Select(line => line.GetProperty("change").GetBoolean()));
        Assert.Equal(["move", "move"], proposal.GetProperty("lines").EnumerateArray().Select(line => line.Word("act")));
        Assert.Equal("applied", (await (await ApplyAsync(api, proposal.Id())).JsonAsync()).Word("state"));
        var again = await ProposeAsync(api);
        Assert.Equal([false, false], again.GetProperty("lines").EnumerateArray().Select(line => line.GetProperty("change").GetBoolean()));
        var after = await CarsOfLessonsAsync(host);
        Assert.Equal((before[bram.Id], before[marigold.Id]), (after[marigold.Id], after[bram.Id]));
        var dated = await host.WithDbAsync(db => db.Set<Holding>().AsNoTracking().Where(h => !h.Standing).ToListAsync());
        Assert.Equal(2, dated.Count);
        Assert.All(dated, holding => Assert.Equal((Tuesday, Tuesday), (holding.From, holding.To)));
        Assert.Empty((await api.GetJsonAsync("/api/v1/attention")).GetProperty("items").EnumerateArray());
        Assert.Equal(DiaryApi.London(2026, 3, 3, 10), await host.WithDbAsync(db => db.Set<Lesson>().Where(l => l.InstructorId == marigold.Id).Select(l => l.StartsAt).SingleAsync()));
        Assert.Equal("nothing_to_change", await (await ApplyAsync(api, again.Id())).CodeAsync(HttpStatusCode.UnprocessableEntity));
    }

    [Fact]
    public async Task What_is_missing_is_said_in_words_and_who_has_a_car_keeps_it()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (office, marigold, bram) = await TwoAsync(host);
        using var api = office;
        var cars = await CarsOfLessonsAsync(host);
        await host.WithDbAsync(db => db.Set<Car>().Where(c => c.Id == cars[marigold.Id]).ExecuteUpdateAsync(row => row.SetProperty(c => c.MotExpires, new LocalDate(2026, 3, 2)).SetProperty(c => c.FirstRegistered, new LocalDate(2020, 3, 1))));
        var proposal = await ProposeAsync(api);
        var missing = Assert.Single(proposal.GetProperty("missing").EnumerateArray());
        Assert.Equal((2, 1), (missing.GetProperty("needed").GetInt32(), missing.GetProperty("inDate").GetInt32()));
        Assert.Equal((DiaryApi.London(2026, 3, 3, 10, 30), DiaryApi.London(2026, 3, 3, 11)), (missing.Moment("start"), missing.Moment("end")));
        Assert.Equal(
            "Tuesday 3 March, 10:30–11:00: 2 manuals needed (Marigold Ashby 10:00–11:00, Bram Holt 10:30–11:30), 1 on the road and in date.",
            missing.Word("sentence"));
        var lines = proposal.GetProperty("lines").EnumerateArray().ToDictionary(line => line.Id("instructorId"));
        Assert.Equal(JsonValueKind.Null, lines[marigold.Id].GetProperty("carId").ValueKind);
        Assert.Equal(cars[bram.Id], lines[bram.Id].Id("carId"));
        Assert.False(lines[bram.Id].GetProperty("change").GetBoolean());
    }

    [Fact]
    public async Task Those_who_teach_one_after_the_other_are_told_that_a_car_is_given_for_the_whole_day()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (office, marigold, bram) = await TwoAsync(host);
        using var api = office;
        var cars = await CarsOfLessonsAsync(host);
        var lesson = await host.WithDbAsync(db => db.Set<Lesson>().Where(l => l.InstructorId == bram.Id).Select(l => l.Id).SingleAsync());
        await (await api.MoveAsync(lesson, DiaryApi.London(2026, 3, 3, 14))).JsonAsync();
        await host.AddAsync(new OffRoadPeriod { CarId = cars[marigold.Id], StartsAt = DiaryApi.London(2026, 3, 3, 9), EndsAt = null, Reason = "Clutch" });
        var missing = Assert.Single((await ProposeAsync(api)).GetProperty("missing").EnumerateArray());
        Assert.False(missing.GetProperty("atOnce").GetBoolean());
        Assert.Equal(
            "Tuesday 3 March, 10:00–15:00: 2 manuals needed (Marigold Ashby 10:00–11:00, Bram Holt 14:00–15:00), 1 on the road and in date. Not all at one time, but a car is given for the whole day.",
            missing.Word("sentence"));
    }

    [Fact]
    public async Task A_spare_car_stands_in_and_the_page_carries_it_out()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (office, marigold, _) = await TwoAsync(host);
        using var api = office;
        var spare = await host.Data.CarAsync();
        var cars = await CarsOfLessonsAsync(host);
        await host.AddAsync(new OffRoadPeriod { CarId = cars[marigold.Id], StartsAt = DiaryApi.London(2026, 3, 3, 9), EndsAt = null, Reason = "Clutch" });
        using var browser = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var page = "/cars/allocation?from=2026-03-03&to=2026-03-03";
        var shown = await (await browser.GetAsync(page)).TextAsync();
        Assert.Contains($"<b>{spare.Label}</b>", shown, StringComparison.Ordinal);
        var seen = System.Text.RegularExpressions.Regex.Match(shown, "name=\"seen\" value=\"([0-9a-f]+)\"").Groups[1].Value;
        var stale = await (await browser.PostFormAsync(page, page, ("seen", "ffff"))).TextAsync();
        Assert.Contains("The diary has changed since this was worked out", stale, StringComparison.Ordinal);
        Assert.Equal(cars[marigold.Id], (await CarsOfLessonsAsync(host))[marigold.Id]);
        var done = await browser.PostFormAsync(page, page, ("seen", seen));
        Assert.Equal(HttpStatusCode.Redirect, done.StatusCode);
        Assert.Equal(spare.Id, (await CarsOfLessonsAsync(host))[marigold.Id]);
    }

    [Fact]
    public async Task A_proposal_is_refused_when_something_has_changed()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (office, marigold, _) = await TwoAsync(host);
        using var api = office;
        var id = (await ProposeAsync(api)).Id();
        await api.BookedAsync((await host.Data.PupilAsync("Marlo Fenn")).Id, marigold.Id, DiaryApi.London(2026, 3, 3, 14));
        Assert.Equal("stale", (await api.GetJsonAsync($"/api/v1/car-allocations/{id}")).Word("state"));
        Assert.Equal("proposal_stale", await (await ApplyAsync(api, id)).CodeAsync(HttpStatusCode.Conflict));
        Assert.Equal("proposed", (await api.GetJsonAsync($"/api/v1/car-allocations/{id}")).Word("state"));
    }

    [Theory]
    [InlineData("2026-03-01", "2026-03-03")]
    [InlineData("2026-03-05", "2026-03-03")]
    [InlineData("2026-03-05", "2026-06-03")]
    [InlineData("2036-03-05", "2036-03-06")]
    public async Task A_period_that_makes_no_sense_is_refused(string from, string to)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (office, _, _) = await TwoAsync(host);
        using var api = office;
        Assert.Equal("invalid", await (await api.SendJsonAsync(HttpMethod.Post, "/api/v1/car-allocations", new { from, to })).CodeAsync(HttpStatusCode.BadRequest));
    }

    private static async Task<(HttpClient Office, Instructor Marigold, Instructor Bram)> TwoAsync(SchoolHost host)
    {
        var marigold = await host.Data.InstructorAsync("Marigold Ashby");
        var bram = await host.Data.InstructorAsync("Bram Holt");
        var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        await office.BookedAsync((await host.Data.PupilAsync("Tamsin Oakley")).Id, marigold.Id, DiaryApi.London(2026, 3, 3, 10));
        await office.BookedAsync((await host.Data.PupilAsync("Idris Bell")).Id, bram.Id, DiaryApi.London(2026, 3, 3, 10, 30));
        return (office, marigold, bram);
    }

    private static Task<Dictionary<Guid, Guid>> CarsOfLessonsAsync(SchoolHost host) =>
        host.WithDbAsync(db => db.Set<Lesson>().AsNoTracking().ToDictionaryAsync(l => l.InstructorId, l => l.CarId));

    private static async Task<JsonElement> ProposeAsync(HttpClient api) =>
        await (await api.SendJsonAsync(HttpMethod.Post, "/api/v1/car-allocations", new { from = "2026-03-03", to = "2026-03-03" })).JsonAsync(HttpStatusCode.Created);

    private static Task<HttpResponseMessage> ApplyAsync(HttpClient api, Guid id) => api.SendJsonAsync(HttpMethod.Post, $"/api/v1/car-allocations/{id}/apply");
}
