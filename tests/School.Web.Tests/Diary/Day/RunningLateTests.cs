using System.Net;
using System.Text.RegularExpressions;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.Messages;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.Day;

public sealed class RunningLateTests(TestPostgres postgres)
{
    [Fact]
    public async Task A_preview_says_who_is_late_and_tells_nobody_and_confirming_twice_tells_them_once()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host);
        using var api = await host.ApiAsAsync(await host.Data.PersonAsync(day.Marigold));

        var preview = await (await api.SendJsonAsync(HttpMethod.Post, Url(day), new { minutes = 20 })).JsonAsync();
        var lessons = preview.GetProperty("lessons").EnumerateArray().ToList();
        Assert.Equal(["Wren Castellan", "Marlo Fenn"], lessons.Select(l => l.Word("pupilName")));
        var late = lessons[0].GetProperty("lateMinutes").GetInt32();
        Assert.InRange(late, 15, 40);
        Assert.Equal(lessons[0].Moment("start") + Duration.FromMinutes(late), lessons[0].Moment("nowAbout"));
        Assert.Equal(0, lessons[1].GetProperty("lateMinutes").GetInt32());
        Assert.Equal((true, false), (lessons[0].GetProperty("news").GetBoolean(), lessons[1].GetProperty("news").GetBoolean()));
        Assert.Empty(await LettersAsync(host));

        var confirm = new { minutes = 20, confirm = true, at = Text(preview.Moment("at")) };
        Assert.True((await (await api.SendJsonAsync(HttpMethod.Post, Url(day), confirm)).JsonAsync()).GetProperty("told").GetBoolean());
        host.Clock.AdvanceMinutes(2);
        var again = await (await api.SendJsonAsync(HttpMethod.Post, Url(day), confirm)).JsonAsync();
        Assert.All(again.GetProperty("lessons").EnumerateArray(), lesson => Assert.False(lesson.GetProperty("news").GetBoolean()));

        var history = (await api.GetJsonAsync($"/api/v1/lessons/{day.Tight.Id}/history")).GetProperty("items").EnumerateArray().Last();
        Assert.Equal(("toldLate", $"Told: about {late} minutes late.", "Marigold Ashby"), (history.Word("kind"), history.Word("words"), history.Word("by")));
        var letter = Assert.Single(await LettersAsync(host));
        Assert.Equal((day.Tight.Id, "Wren Castellan"), (letter.AboutId, letter.ToName));
        Assert.Contains($"about {late} minutes late, at about 12:", letter.Text, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Confirmed_at_the_same_moment_through_two_nodes_nobody_is_told_twice()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host);
        await using var second = host.SecondNode();
        var marigold = await host.Data.PersonAsync(day.Marigold);
        using var one = await host.ApiAsAsync(marigold);
        using var other = await second.ApiAsAsync(marigold);

        var answers = await Task.WhenAll(Enumerable.Range(0, 6).Select(i =>
            (i % 2 == 0 ? one : other).SendJsonAsync(HttpMethod.Post, Url(day), new { minutes = 20, confirm = true })));

        Assert.All(answers, answer => Assert.Equal(HttpStatusCode.OK, answer.StatusCode));
        Assert.Single(await LettersAsync(host));
    }

    [Fact]
    public async Task Later_still_is_told_anew_and_so_is_on_time_after_all()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        foreach (var minutes in new[] { 20, 30, 20 })
        {
            await (await office.SendJsonAsync(HttpMethod.Post, Url(day), new { minutes, confirm = true })).JsonAsync();
        }

        Assert.Equal(3, (await LettersAsync(host)).Count);
        await host.WithDbAsync(db => db.Set<Web.Modules.Diary.Lessons.Lesson>().Where(l => l.Id == day.OnNow.Id)
            .ExecuteUpdateAsync(set => set.SetProperty(l => l.EndsAt, LarkfieldMonday.At(10, 50))));
        await (await office.SendJsonAsync(HttpMethod.Post, Url(day), new { minutes = 1, confirm = true })).JsonAsync();
        Assert.StartsWith("On time after all", (await LettersAsync(host))[^1].Subject, StringComparison.Ordinal);
    }

    [Fact]
    public async Task What_cannot_be_told_is_refused_with_a_sentence()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host);
        using var api = await host.ApiAsAsync(await host.Data.PersonAsync(day.Marigold));
        using var colleague = await host.ApiAsAsync(await host.Data.PersonAsync(await host.Data.InstructorAsync("Alder Quince")));

        Assert.Equal(["minutes"], await (await api.SendJsonAsync(HttpMethod.Post, Url(day), new { minutes = 0 })).WrongFieldsAsync());
        Assert.Equal(["minutes"], await (await api.SendJsonAsync(HttpMethod.Post, Url(day), new { minutes = 241 })).WrongFieldsAsync());
        var tomorrow = Url(day).Replace("03-02", "03-03", StringComparison.Ordinal);
        Assert.Equal("not_today", await (await api.SendJsonAsync(HttpMethod.Post, tomorrow, new { minutes = 10 })).CodeAsync(HttpStatusCode.UnprocessableEntity));
        var old = new { minutes = 10, confirm = true, at = Text(LarkfieldMonday.At(10, 30)) };
        Assert.Equal("late_worked_out_long_ago", await (await api.SendJsonAsync(HttpMethod.Post, Url(day), old)).CodeAsync(HttpStatusCode.Conflict));
        Assert.Equal(HttpStatusCode.NotFound, (await colleague.SendJsonAsync(HttpMethod.Post, Url(day), new { minutes = 10 })).StatusCode);
        Assert.Empty(await LettersAsync(host));
    }

    [Fact]
    public async Task On_the_pages_one_tap_shows_who_is_late_and_the_strip_marks_who_was_told()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(day.Marigold));
        Assert.Contains("href=\"/diary/running-late?minutes=20\"", await browser.GetStringAsync("/diary/day"), StringComparison.Ordinal);

        const string Page = "/diary/running-late?minutes=20";
        var shown = await (await browser.GetAsync(Page)).TextAsync();
        Assert.True(shown.IndexOf("Park safely first.", StringComparison.Ordinal) < shown.IndexOf("Wren Castellan", StringComparison.Ordinal));
        Assert.Contains("1 lesson starts late. From Marlo Fenn at 15:45 on, the day is on time again.", shown, StringComparison.Ordinal);
        Assert.Contains("Tell Wren Castellan", shown, StringComparison.Ordinal);
        Assert.Empty(await LettersAsync(host));

        var told = await browser.PostFormAsync(Page, ("At", Text(LarkfieldMonday.At(10, 45))));
        Assert.Equal("/diary/day", told.Headers.Location!.OriginalString);
        var strip = await (await browser.GetAsync("/diary/day")).TextAsync();
        Assert.Contains("Told by e-mail: Wren Castellan.", strip, StringComparison.Ordinal);
        Assert.Contains("minutes late, told", strip, StringComparison.Ordinal);
        using var wren = await host.PagesAsAsync(await host.WithDbAsync(async db =>
            await host.Data.PersonAsync(await db.Set<Web.Modules.Pupils.Pupil>().AsNoTracking().SingleAsync(p => p.Id == day.Tight.PupilId))));
        Assert.Contains("Your lesson starts about 16 minutes late, at about 12:01,", Regex.Replace(await (await wren.GetAsync("/diary/home")).TextAsync(), "<[^>]+>", ""), StringComparison.Ordinal);
        Assert.DoesNotContain("running-late", await browser.GetStringAsync("/diary/day?date=2026-03-03"), StringComparison.Ordinal);
    }

    private static string Url(LarkfieldMonday day) => $"/api/v1/instructors/{day.Marigold.Id}/day/2026-03-02/late";

    private static Task<List<Said>> LettersAsync(SchoolHost host) => host.SaidAsync(all => all.Where(m => m.Kind == LessonMail.Late).OrderBy(m => m.Key));
}
