using System.Net;
using Microsoft.EntityFrameworkCore;
using School.Core.Syllabus.Mocks;
using School.Tests;
using School.Web.Modules.Syllabus.Mocks;
using School.Web.Tests.Host;

namespace School.Web.Tests.Syllabus.Mocks;

/// <summary>The pages of mock tests, without scripts. The clock stands at Monday 2 March 2026, 08:00.</summary>
public sealed class MockPagesTests(TestPostgres postgres)
{
    [Fact]
    public async Task A_mock_test_is_tapped_together_undone_noted_and_finished()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var teacher = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync(instructor: teacher.Id);
        using var instructor = await host.PagesAsAsync(await host.Data.PersonAsync(teacher));
        var begun = await instructor.PostFormAsync($"/syllabus/mocks/new?pupil={pupil.Id}", ("pupil", pupil.Id.ToString()), ("On", "2026-03-02"));
        Assert.Equal(HttpStatusCode.Redirect, begun.StatusCode);
        var page = begun.Headers.Location!.ToString();
        Assert.Contains("Record it parked afterwards", await (await instructor.GetAsync(page)).TextAsync(), StringComparison.Ordinal);

        Task<HttpResponseMessage> Tap(string what) => instructor.PostFormAsync(page, $"{page}?handler=Tap", ("tap", what));
        foreach (var tap in new[] { "most|21-observation|Driving", "mirrors|15-timed|Driving", "most|13-safety|Serious" })
        {
            Assert.Equal(HttpStatusCode.Redirect, (await Tap(tap)).StatusCode);
        }

        Assert.Contains("Would not pass: a serious fault", await (await instructor.GetAsync(page)).TextAsync(), StringComparison.Ordinal);
        await instructor.PostFormAsync(page, $"{page}?handler=Undo");
        await instructor.PostFormAsync(page, $"{page}?handler=Remove", ("number", "2"));
        await instructor.PostFormAsync(page, $"{page}?handler=Note", ("number", "1"), ("note", "Looked\u202E once\u0007 only"));
        Assert.Contains("1 driving, 0 serious, 0 dangerous", await (await instructor.GetAsync(page)).TextAsync(), StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.BadRequest, (await Tap("most|21-observation|Silly")).StatusCode);
        Assert.Contains("There is no heading “28”", await (await Tap("most|28|Driving")).TextAsync(), StringComparison.Ordinal);

        var done = await instructor.PostFormAsync(page, $"{page}?handler=Finish", ("EtaVerbal", "2"), ("EtaPhysical", ""), ("Note", "Well driven."));
        Assert.Equal(page, done.Headers.Location!.ToString());
        var mock = await host.WithDbAsync(db => db.Set<MockTest>().SingleAsync());
        Assert.Equal(("21-observation", FaultKind.Driving, "Looked once only"), (mock.Faults[0].Heading, mock.Faults[0].Kind, mock.Faults[0].Note));
        Assert.Equal((1, 2, 0, true), (mock.Faults.Count, mock.EtaVerbal, mock.EtaPhysical, mock.FinishedAt is not null));
    }

    [Fact]
    public async Task A_finished_one_is_read_by_its_pupil_and_put_right_by_staff_only()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        var mock = await host.Data.MockTestAsync(pupil.Id, ("21-observation", FaultKind.Driving));
        var page = $"/syllabus/mocks/{mock.Id}";
        using var own = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var read = await (await own.GetAsync($"{page}?change=true")).TextAsync();
        Assert.Contains("Passed by the rule", read, StringComparison.Ordinal);
        Assert.DoesNotContain("handler=Tap", read, StringComparison.Ordinal);
        var tapped = await own.PostFormAsync(page, $"{page}?handler=Tap", ("tap", "most|21-observation|Dangerous"));
        Assert.Contains("/people/not-allowed", tapped.Headers.Location?.ToString() ?? "", StringComparison.Ordinal);

        await office.PostFormAsync($"{page}?change=true", $"{page}?handler=Tap&change=true", ("tap", "most|21-observation|Dangerous"));
        var discarded = await office.PostFormAsync($"{page}?change=true", $"{page}?handler=Discard");
        Assert.Contains("it stays", await discarded.TextAsync(), StringComparison.Ordinal);
        var after = await (await own.GetAsync(page)).TextAsync();
        Assert.Contains("Not passed: a dangerous fault", after, StringComparison.Ordinal);
        Assert.DoesNotContain("Put right since", after, StringComparison.Ordinal);
        Assert.Contains("Added Junctions: observation, dangerous fault.", await (await office.GetAsync(page)).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Two_taps_at_once_both_count()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        var mock = await host.Data.MockTestAsync(pupil.Id);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var page = $"/syllabus/mocks/{mock.Id}?change=true";
        await Task.WhenAll(Enumerable.Range(0, 6).Select(_ => office.PostFormAsync(page, $"/syllabus/mocks/{mock.Id}?handler=Tap&change=true", ("tap", "most|18|Driving"))));
        Assert.Equal([1, 2, 3, 4, 5, 6], (await host.WithDbAsync(db => db.Set<MockTest>().SingleAsync())).Faults.Select(fault => fault.Number));
    }

    [Fact]
    public async Task The_trend_shows_mock_tests_and_one_begun_by_mistake_is_thrown_away()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        await host.Data.MockTestAsync(pupil.Id, ("21-observation", FaultKind.Driving), ("12-steering", FaultKind.Serious));
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var trend = await (await office.GetAsync($"/syllabus/mocks?pupil={pupil.Id}")).TextAsync();
        Assert.Contains("Junctions: observation", trend, StringComparison.Ordinal);
        Assert.Contains("2 Mar 1 driving, 1 serious, 0 dangerous", trend, StringComparison.Ordinal);

        var begun = (await office.PostFormAsync($"/syllabus/mocks/new?pupil={pupil.Id}", ("pupil", pupil.Id.ToString()), ("On", "2026-03-01"))).Headers.Location!.ToString();
        Assert.Contains("is not finished", await (await office.GetAsync($"/syllabus/mocks?pupil={pupil.Id}")).TextAsync(), StringComparison.Ordinal);
        await office.PostFormAsync(begun, $"{begun}?handler=Discard");
        Assert.Equal(1, await host.WithDbAsync(db => db.Set<MockTest>().CountAsync()));
    }
}
