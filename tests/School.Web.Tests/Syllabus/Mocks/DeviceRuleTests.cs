using System.Net;
using Microsoft.EntityFrameworkCore;
using School.Tests;
using School.Web.Modules.Syllabus.Mocks;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;

namespace School.Web.Tests.Syllabus.Mocks;

/// <summary>Monday 2 March 2026, 10:45: Idris's lesson with Marigold Ashby is on. Rule 149 of The Highway Code (text of 20 June 2024): no hand-held device while supervising a learner.</summary>
public sealed class DeviceRuleTests(TestPostgres postgres)
{
    private const string Tap = "most|21-observation|Driving";

    [Fact]
    public async Task While_a_lesson_runs_the_api_takes_nothing_before_somebody_says_that_they_do_not_supervise()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host);
        using var api = await host.ApiAsAsync(await host.Data.PersonAsync(day.Marigold));
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var path = $"/api/v1/pupils/{day.Idris.Id}/mock-tests";
        object[] faults = [new { heading = "18", kind = "driving" }];
        Assert.Equal("lesson_running", await (await api.SendJsonAsync(HttpMethod.Post, path, new { faults })).CodeAsync(HttpStatusCode.Conflict));
        Assert.Equal(0, await host.WithDbAsync(db => db.Set<MockTest>().CountAsync()));
        // The instructor supervises whatever pupil the sheet is of.
        Assert.Equal("lesson_running", await (await api.SendJsonAsync(HttpMethod.Post, $"/api/v1/pupils/{day.Tight.PupilId}/mock-tests", new { faults })).CodeAsync(HttpStatusCode.Conflict));
        await (await office.SendJsonAsync(HttpMethod.Post, $"/api/v1/pupils/{day.Tight.PupilId}/mock-tests", new { faults })).JsonAsync(HttpStatusCode.Created);

        var made = await (await api.SendJsonAsync(HttpMethod.Post, path, new { faults, notSupervising = true })).JsonAsync(HttpStatusCode.Created);
        var sheet = $"/api/v1/mock-tests/{made.Id()}";
        // Said once, it holds for this lesson and this person, and for nobody else.
        await (await api.SendJsonAsync(HttpMethod.Put, sheet, new { faults, note = "Steady." }, etag: "*")).JsonAsync();
        Assert.Equal("lesson_running", await (await office.SendJsonAsync(HttpMethod.Put, sheet, new { faults }, etag: "*")).CodeAsync(HttpStatusCode.Conflict));

        // It holds as long as they write: a sheet that lay for a quarter of an hour is asked again, since the car may be on the road by then.
        host.Clock.Reset(LarkfieldMonday.At(10, 59));
        await (await api.SendJsonAsync(HttpMethod.Put, sheet, new { faults, note = "Steady so far." }, etag: "*")).JsonAsync();
        host.Clock.Reset(LarkfieldMonday.At(11, 13));
        await (await api.SendJsonAsync(HttpMethod.Put, sheet, new { faults, note = "Steady still." }, etag: "*")).JsonAsync();
        host.Clock.Reset(LarkfieldMonday.At(11, 28));
        Assert.Equal("lesson_running", await (await api.SendJsonAsync(HttpMethod.Put, sheet, new { faults }, etag: "*")).CodeAsync(HttpStatusCode.Conflict));

        host.Clock.Reset(LarkfieldMonday.At(11, 30));
        await (await office.SendJsonAsync(HttpMethod.Put, sheet, new { faults, note = "Well driven." }, etag: "*")).JsonAsync();
        host.Clock.Reset(LarkfieldMonday.At(11, 50));
        Assert.Equal("lesson_running", await (await api.SendJsonAsync(HttpMethod.Put, sheet, new { faults }, etag: "*")).CodeAsync(HttpStatusCode.Conflict));
    }

    [Fact]
    public async Task The_sheet_opens_once_the_box_is_ticked_and_says_why_it_is_shut()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(day.Marigold));
        var begin = $"/syllabus/mocks/new?pupil={day.Idris.Id}";
        Assert.Contains("Somebody else supervises, or we are parked", await (await browser.GetAsync(begin)).TextAsync(), StringComparison.Ordinal);
        (string, string)[] fields = [("pupil", day.Idris.Id.ToString()), ("On", "2026-03-02")];
        var shut = await browser.PostFormAsync(begin, fields);
        Assert.Contains("whoever supervises a learner must not use a phone or tablet", await shut.TextAsync(), StringComparison.Ordinal);
        var page = (await browser.PostFormAsync(begin, [.. fields, ("NotSupervising", "true")])).Headers.Location!.ToString();
        Assert.Equal(HttpStatusCode.Redirect, (await browser.PostFormAsync(page, $"{page}?handler=Tap", ("tap", Tap))).StatusCode);

        // Somebody else has still to say it.
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var closed = await (await office.GetAsync(page)).TextAsync();
        Assert.Contains("Open the sheet", closed, StringComparison.Ordinal);
        Assert.DoesNotContain("handler=Tap", closed, StringComparison.Ordinal);
        Assert.Contains("A lesson is on", await (await office.PostFormAsync(page, $"{page}?handler=Tap", ("tap", Tap))).TextAsync(), StringComparison.Ordinal);
        Assert.Contains("Tick “Somebody else supervises", await (await office.PostFormAsync(page, $"{page}?handler=Open", ("NotSupervising", "false"))).TextAsync(), StringComparison.Ordinal);
        Assert.Single((await host.WithDbAsync(db => db.Set<MockTest>().SingleAsync())).Faults);
        Assert.Equal(HttpStatusCode.Redirect, (await office.PostFormAsync(page, $"{page}?handler=Open", ("NotSupervising", "true"))).StatusCode);
        Assert.Equal(HttpStatusCode.Redirect, (await office.PostFormAsync(page, $"{page}?handler=Tap", ("tap", Tap))).StatusCode);
        Assert.Equal(2, (await host.WithDbAsync(db => db.Set<MockTest>().SingleAsync())).Faults.Count);
    }

    [Fact]
    public async Task A_lesson_that_is_recorded_or_over_shuts_nothing()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host);
        host.Clock.Reset(LarkfieldMonday.At(11, 30));
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(day.Marigold));
        Assert.DoesNotContain("Somebody else supervises", await (await browser.GetAsync($"/syllabus/mocks/new?pupil={day.Idris.Id}")).TextAsync(), StringComparison.Ordinal);
    }
}
