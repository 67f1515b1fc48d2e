using System.Net;
using Microsoft.EntityFrameworkCore;
using School.Tests;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Syllabus.Lessons;
using School.Web.Tests.Host;

namespace School.Web.Tests.Syllabus.Lessons;

public sealed class RecordPageTests(TestPostgres postgres)
{
    [Fact]
    public async Task Recording_begins_with_the_caution_and_leads_on_to_what_comes_next()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (day, browser, page) = await StartAsync(host);
        var shown = await (await browser.GetAsync(page)).TextAsync();
        Assert.Contains("Park safely and legally, then record.", shown, StringComparison.Ordinal);
        Assert.Contains("value=\"75\"", shown, StringComparison.Ordinal);

        var answer = await browser.PostFormAsync(page, ("Input.MinutesTaught", "70"), ("Input.Note", "Roundabouts: 🚗 steady."), ("Input.Version", "1"));
        Assert.Equal($"/syllabus/lessons/{day.OnNow.Id}/next", answer.Headers.Location?.ToString());
        var lesson = await LessonAsync(host, day);
        Assert.Equal((LessonState.Taught, 70, "Roundabouts: 🚗 steady."), (lesson.State, lesson.MinutesTaught, lesson.Note));
        Assert.Contains("Recorded: Idris Bell, 1 h 10 min taught.", await (await browser.GetAsync("/diary/day")).TextAsync(), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("76", "between 1 and 75")]
    [InlineData("0", "between 1 and 75")]
    [InlineData("an hour", "cannot be used here")]
    public async Task Minutes_that_cannot_be_are_told_beside_the_field_and_the_sentence_is_kept(string minutes, string told)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (day, browser, page) = await StartAsync(host);
        var answer = await browser.PostFormAsync(page, ("Input.MinutesTaught", minutes), ("Input.Note", "Good clutch."), ("Input.Version", "1"));
        var text = await answer.TextAsync();
        Assert.Contains("Input_MinutesTaught-error", text, StringComparison.Ordinal);
        Assert.Contains(told, text, StringComparison.Ordinal);
        Assert.Contains("Good clutch.", text, StringComparison.Ordinal);
        Assert.Equal(LessonState.Booked, (await LessonAsync(host, day)).State);
    }

    [Fact]
    public async Task Pressing_twice_is_no_quarrel_but_another_record_in_between_is()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (_, browser, page) = await StartAsync(host);
        (string, string)[] sent = [("Input.MinutesTaught", "75"), ("Input.Note", "Fine."), ("Input.Version", "1")];
        Assert.Equal(HttpStatusCode.Redirect, (await browser.PostFormAsync(page, sent)).StatusCode);
        Assert.Equal(HttpStatusCode.Redirect, (await browser.PostFormAsync(page, sent)).StatusCode);
        var late = await browser.PostFormAsync(page, ("Input.MinutesTaught", "60"), ("Input.Note", "Mine."), ("Input.Version", "1"));
        Assert.Contains("Somebody changed this after you opened it", await late.TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task While_a_lesson_goes_on_its_record_is_a_quiet_link_and_takes_no_more_than_has_passed()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (day, browser, page) = await StartAsync(host);
        var lesson = $"/diary/lessons/{day.OnNow.Id}";
        Assert.Contains("class=\"button main\" href=\"" + page, await (await browser.GetAsync(lesson)).TextAsync(), StringComparison.Ordinal);
        host.Clock.Reset(LarkfieldMonday.At(11, 0));
        var shown = await (await browser.GetAsync(lesson)).TextAsync();
        Assert.Contains($"<a href=\"{page}\">It ended early: record it</a>", shown, StringComparison.Ordinal);
        Assert.DoesNotContain("button main", shown, StringComparison.Ordinal);

        var early = await (await browser.PostFormAsync(page, ("Input.MinutesTaught", "46"), ("Input.Version", "1"))).TextAsync();
        Assert.Contains("Input_MinutesTaught-error", early, StringComparison.Ordinal);
        Assert.Contains("Only 45 minutes of this lesson have passed.", early, StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.Redirect, (await browser.PostFormAsync(page, ("Input.MinutesTaught", "45"), ("Input.Version", "1"))).StatusCode);
    }

    [Fact]
    public async Task A_lesson_of_somebody_else_or_of_later_is_not_there_to_record()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (day, own, page) = await StartAsync(host);
        using var other = await host.PagesAsAsync(await host.Data.PersonAsync(await host.Data.InstructorAsync("Alder Quince")));
        Assert.Equal(HttpStatusCode.NotFound, (await other.GetAsync(page)).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await other.PostFormAsync("/diary/time-off", page, ("Input.MinutesTaught", "75"))).StatusCode);
        Assert.Contains("has not begun yet", await (await own.GetAsync($"/syllabus/lessons/{day.Tight.Id}/record")).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Levels_are_chosen_by_skill_and_what_was_chosen_is_kept_when_something_is_wrong()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (day, browser, page) = await StartAsync(host);
        (string, string)[] chosen =
        [
            ("Input.Levels[roundabouts]", "Helped"), ("Input.Levels[mirrors]", ""), ("Input.Levels[signals]", "Independent"), ("Input.Aim", "Spiral roundabouts."),
            ("Input.PrivateNote", "Sleepy."), ("Input.RouteKind", "Town"), ("Input.Miles", "11.5"), ("Input.Version", "1"),
        ];
        var wrong = await (await browser.PostFormAsync(page, [("Input.MinutesTaught", "90"), .. chosen])).TextAsync();
        Assert.Contains("name=\"Input.Levels[roundabouts]\" value=\"Helped\" checked", wrong, StringComparison.Ordinal);
        Assert.Contains("Spiral roundabouts.", wrong, StringComparison.Ordinal);

        Assert.Equal(HttpStatusCode.Redirect, (await browser.PostFormAsync(page, [("Input.MinutesTaught", "75"), .. chosen])).StatusCode);
        Assert.Contains("The pupil can read it now. Next: Wren Castellan at 11:45, Harbour Street.", await (await browser.GetAsync("/diary/day")).TextAsync(), StringComparison.Ordinal);
        var record = await host.WithDbAsync(db => db.Set<LessonRecord>().AsNoTracking().SingleAsync(r => r.LessonId == day.OnNow.Id));
        Assert.Equal(["signals Independent", "roundabouts Helped"], record.Levels.Select(given => $"{given.Skill} {given.Level}"));
        Assert.Equal(("Spiral roundabouts.", "Sleepy.", RouteKind.Town, 11.5m), (record.Aim, record.PrivateNote, record.Route, record.Miles));
        var again = await (await browser.GetAsync(page)).TextAsync();
        Assert.Contains("name=\"Input.Levels[signals]\" value=\"Independent\" checked", again, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_level_that_is_none_and_a_skill_that_is_none_are_refused_in_words()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (day, browser, page) = await StartAsync(host);
        var level = await (await browser.PostFormAsync(page, ("Input.MinutesTaught", "75"), ("Input.Levels[roundabouts]", "Perfect"), ("Input.Version", "1"))).TextAsync();
        Assert.Contains("“Perfect” cannot be used here", level, StringComparison.Ordinal);
        var skill = await (await browser.PostFormAsync(page, ("Input.MinutesTaught", "75"), ("Input.Levels[hovering]", "Helped"), ("Input.Version", "1"))).TextAsync();
        Assert.Contains("The syllabus has no skill “hovering”.", skill, StringComparison.Ordinal);
        Assert.Equal(LessonState.Booked, (await LessonAsync(host, day)).State);
    }

    private static async Task<(LarkfieldMonday Day, HttpClient Browser, string Page)> StartAsync(SchoolHost host)
    {
        var day = await LarkfieldMonday.SeedAsync(host);
        host.Clock.Reset(LarkfieldMonday.At(11, 31));
        return (day, await host.PagesAsAsync(await host.Data.PersonAsync(day.Marigold)), $"/syllabus/lessons/{day.OnNow.Id}/record");
    }

    private static Task<Lesson> LessonAsync(SchoolHost host, LarkfieldMonday day) =>
        host.WithDbAsync(db => db.Set<Lesson>().AsNoTracking().SingleAsync(l => l.Id == day.OnNow.Id));
}
