using System.Net;
using Microsoft.EntityFrameworkCore;
using School.Tests;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Tests.Host;

namespace School.Web.Tests.Diary.Lessons;

public sealed class MissedPageTests(TestPostgres postgres)
{
    [Fact]
    public async Task A_pupil_who_was_not_there_is_recorded_after_the_consequence_was_shown()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (day, browser, page) = await StartAsync(host);
        Assert.Contains("Record as missed, to be charged", await (await browser.GetAsync(page)).TextAsync(), StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.Redirect, (await browser.PostFormAsync(page, ("Input.Version", "1"))).StatusCode);
        Assert.Equal(HttpStatusCode.Redirect, (await browser.PostFormAsync(page, ("Input.Version", "1"))).StatusCode);
        Assert.Equal(LessonState.Missed, (await LessonAsync(host, day)).State);
    }

    [Fact]
    public async Task Before_the_wait_is_over_a_pupil_is_called_and_not_recorded_as_missed()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (day, browser, page) = await StartAsync(host);
        host.Clock.Reset(LarkfieldMonday.At(10, 24));
        Assert.Contains("href=\"tel:+441632960002\"", await (await browser.GetAsync(page)).TextAsync(), StringComparison.Ordinal);
        Assert.Contains("Wait 10 minutes and call first", await (await browser.PostFormAsync(page, ("Input.Version", "1"))).TextAsync(), StringComparison.Ordinal);
        Assert.Equal(LessonState.Booked, (await LessonAsync(host, day)).State);
        host.Clock.Reset(LarkfieldMonday.At(10, 25));
        Assert.Equal(HttpStatusCode.Redirect, (await browser.PostFormAsync(page, ("Input.Version", "1"))).StatusCode);
    }

    [Fact]
    public async Task A_missed_lesson_that_is_waived_is_not_charged()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (day, browser, page) = await StartAsync(host);
        await browser.PostFormAsync(page, ("Input.Version", "1"), ("Input.Waive", "true"));
        var lesson = await LessonAsync(host, day);
        Assert.Equal((LessonState.Missed, false, "The pupil was not there; the school waived the charge."), (lesson.State, lesson.Chargeable, lesson.Charge!.DoneToAnybody()));
    }

    private static async Task<(LarkfieldMonday Day, HttpClient Browser, string Page)> StartAsync(SchoolHost host)
    {
        var day = await LarkfieldMonday.SeedAsync(host);
        host.Clock.Reset(LarkfieldMonday.At(11, 31));
        return (day, await host.PagesAsAsync(await host.Data.PersonAsync(day.Marigold)), $"/diary/lessons/{day.OnNow.Id}/missed");
    }

    private static Task<Lesson> LessonAsync(SchoolHost host, LarkfieldMonday day) =>
        host.WithDbAsync(db => db.Set<Lesson>().AsNoTracking().SingleAsync(l => l.Id == day.OnNow.Id));
}
