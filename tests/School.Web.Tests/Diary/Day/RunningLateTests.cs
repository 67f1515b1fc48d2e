using System.Net;
using System.Text.RegularExpressions;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
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

    /// <summary>13:48 in a gap: the next at 15:45 is nine kilometres or so away; then the time to leave, then the start.</summary>
    [Fact]
    public async Task In_a_gap_the_next_start_is_late_and_its_pupil_is_told_before_it_and_after_it()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host);
        using var api = await host.ApiAsAsync(await host.Data.PersonAsync(day.Marigold));
        await RecordAsync(host, day.OnNow, day.Tight);
        host.Clock.Reset(LarkfieldMonday.At(15, 20));
        foreach (var minutes in new[] { 10, 20, 45 })
        {
            var answer = await (await api.SendJsonAsync(HttpMethod.Post, Url(day), new { minutes })).JsonAsync();
            var next = Assert.Single(answer.GetProperty("lessons").EnumerateArray());
            Assert.Equal(("Marlo Fenn", minutes), (next.Word("pupilName"), next.GetProperty("lateMinutes").GetInt32()));
            Assert.Equal(System.Text.Json.JsonValueKind.Null, answer.GetProperty("onLessonId").ValueKind);
        }

        // Its time has come: it is on by the clock, and still its pupil can be told.
        host.Clock.Reset(LarkfieldMonday.At(15, 50));
        var on = await (await api.SendJsonAsync(HttpMethod.Post, Url(day), new { minutes = 15 })).JsonAsync();
        Assert.Empty(on.GetProperty("lessons").EnumerateArray());
        Assert.NotEqual(System.Text.Json.JsonValueKind.Null, on.GetProperty("onLessonId").ValueKind);
        var notBegun = await (await api.SendJsonAsync(HttpMethod.Post, Url(day), new { minutes = 15, notBegun = true, confirm = true })).JsonAsync();
        Assert.Equal(LarkfieldMonday.At(16, 0), Assert.Single(notBegun.GetProperty("lessons").EnumerateArray()).Moment("nowAbout"));
        var letter = Assert.Single(await LettersAsync(host));
        Assert.Equal("Marlo Fenn", letter.ToName);
        Assert.Contains("about 15 minutes late, at about 16:00", letter.Text, StringComparison.Ordinal);

        // Told to begin at 16:00, it has not begun at 15:55 without anybody saying so.
        host.Clock.Reset(LarkfieldMonday.At(15, 55));
        var again = await (await api.SendJsonAsync(HttpMethod.Post, Url(day), new { minutes = 20, confirm = true })).JsonAsync();
        Assert.Equal(LarkfieldMonday.At(16, 5), Assert.Single(again.GetProperty("lessons").EnumerateArray()).Moment("nowAbout"));
        Assert.Equal(2, (await LettersAsync(host)).Count);
    }

    [Fact]
    public async Task After_the_time_to_leave_the_day_offers_the_minutes_that_are_due_and_says_when_parked()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host);
        await RecordAsync(host, day.OnNow, day.Tight);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(day.Marigold));
        host.Clock.Reset(LarkfieldMonday.At(15, 0));
        var early = await (await browser.GetAsync("/diary/day")).TextAsync();
        Assert.Contains("Leave by", early, StringComparison.Ordinal);
        Assert.DoesNotContain("Leaving now it starts", early, StringComparison.Ordinal);

        host.Clock.Reset(LarkfieldMonday.At(15, 44));
        var late = await (await browser.GetAsync("/diary/day")).TextAsync();
        var told = Regex.Match(late, @"Leaving now it starts at about <b class=""times"">(\d\d:\d\d)</b>, (\d+) minutes late");
        Assert.True(told.Success, "The day does not say how late leaving now would be.");
        var minutes = int.Parse(told.Groups[2].Value, System.Globalization.CultureInfo.InvariantCulture);
        Assert.InRange(minutes, 5, 40);
        Assert.Equal($"{LarkfieldMonday.At(15, 45).Plus(Duration.FromMinutes(minutes)).InZone(SchoolHost.London):HH:mm}", told.Groups[1].Value);
        Assert.Contains($"href=\"/diary/running-late?minutes={minutes}\"", late, StringComparison.Ordinal);
        Assert.Contains("Running late? <b>When parked.</b>", late, StringComparison.Ordinal);

        host.Clock.Reset(LarkfieldMonday.At(15, 50));
        Assert.Contains("/diary/running-late?notBegun=true", await browser.GetStringAsync("/diary/day"), StringComparison.Ordinal);
        const string Page = "/diary/running-late?minutes=15&notBegun=true";
        Assert.Contains("Tell Marlo Fenn", await (await browser.GetAsync(Page)).TextAsync(), StringComparison.Ordinal);
        await browser.PostFormAsync(Page, ("At", Text(LarkfieldMonday.At(15, 50))));
        Assert.Single(await LettersAsync(host));
    }

    [Fact]
    public async Task A_school_may_have_the_pupil_told_by_itself_once_and_never_where_a_place_is_to_be_found()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host);
        await RecordAsync(host, day.OnNow, day.Tight);
        host.Clock.Reset(LarkfieldMonday.At(15, 44));
        await RunJobAsync(host);
        await TellsLateAsync(host, Core.Diary.LateTelling.OnTheWay);
        await RunJobAsync(host);
        Assert.Empty(await LettersAsync(host));

        await TellsLateAsync(host, Core.Diary.LateTelling.Always);
        await host.WithDbAsync(db => db.Set<Web.Modules.Diary.Lessons.Lesson>().Where(l => l.StartsAt == LarkfieldMonday.At(15, 45))
            .ExecuteUpdateAsync(set => set.SetProperty(l => l.PickUp.Certainty, Web.Modules.School.Contracts.PlaceCertainty.ToBeFound)));
        await RunJobAsync(host);
        Assert.Empty(await LettersAsync(host));

        await host.WithDbAsync(db => db.Set<Web.Modules.Diary.Lessons.Lesson>().Where(l => l.StartsAt == LarkfieldMonday.At(15, 45))
            .ExecuteUpdateAsync(set => set.SetProperty(l => l.PickUp.Certainty, Web.Modules.School.Contracts.PlaceCertainty.Exact)));
        await Task.WhenAll(RunJobAsync(host), RunJobAsync(host));
        host.Clock.AdvanceMinutes(1);
        await RunJobAsync(host);
        var letter = Assert.Single(await LettersAsync(host));
        Assert.Equal("Marlo Fenn", letter.ToName);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var history = (await office.GetJsonAsync($"/api/v1/lessons/{letter.AboutId}/history")).GetProperty("items").EnumerateArray().Last();
        Assert.Equal(("toldLate", "The service"), (history.Word("kind"), history.Word("by")));
    }

    [Fact]
    public async Task Who_tapped_that_they_left_too_late_has_the_pupil_told_and_who_left_in_time_has_not()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host);
        await RecordAsync(host, day.OnNow, day.Tight);
        await TellsLateAsync(host, Core.Diary.LateTelling.OnTheWay);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(day.Marigold));
        host.Clock.Reset(LarkfieldMonday.At(15, 0));
        await browser.PostFormAsync("/diary/day", "/diary/drive", ("tap", "leave"));
        host.Clock.Reset(LarkfieldMonday.At(15, 44));
        await RunJobAsync(host);
        Assert.Empty(await LettersAsync(host));
        Assert.Contains("on time", await browser.GetStringAsync("/diary/day"), StringComparison.Ordinal);

        await browser.PostFormAsync("/diary/day", "/diary/drive", ("tap", "forget"));
        await browser.PostFormAsync("/diary/day", "/diary/drive", ("tap", "leave"));
        await RunJobAsync(host);
        Assert.Single(await LettersAsync(host));
    }

    /// <summary>Until 15:44 the office sees what the instructor tapped, and the job what is still under way.</summary>
    [Fact]
    public async Task Who_has_arrived_is_told_to_nobody_as_late_and_the_office_sees_the_drive()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host);
        await RecordAsync(host, day.OnNow, day.Tight);
        await TellsLateAsync(host, Core.Diary.LateTelling.Always);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(day.Marigold));
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var theirs = $"/diary/day?instructorId={day.Marigold.Id}";
        host.Clock.Reset(LarkfieldMonday.At(15, 10));
        await browser.PostFormAsync("/diary/day", "/diary/drive", ("tap", "leave"));
        host.Clock.Reset(LarkfieldMonday.At(15, 44));
        var way = await (await office.GetAsync(theirs)).TextAsync();
        Assert.Contains("On the way since <b class=\"times\">15:10</b>", way, StringComparison.Ordinal);
        Assert.DoesNotContain("Leaving now", way, StringComparison.Ordinal);

        await browser.PostFormAsync("/diary/day", "/diary/drive", ("tap", "arrived"));
        Assert.DoesNotContain("minutes late.", await (await office.GetAsync(theirs)).TextAsync(), StringComparison.Ordinal);
        await RunJobAsync(host);
        Assert.Empty(await LettersAsync(host));
    }

    [Fact]
    public async Task An_arrival_that_was_not_tapped_says_nothing_of_the_next_drive()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(day.Marigold));
        host.Clock.Reset(LarkfieldMonday.At(11, 31));
        await browser.PostFormAsync("/diary/day", "/diary/drive", ("tap", "leave"));
        await RecordAsync(host, day.OnNow, day.Tight);
        await TellsLateAsync(host, Core.Diary.LateTelling.OnTheWay);
        host.Clock.Reset(LarkfieldMonday.At(15, 44));
        await RunJobAsync(host);
        Assert.Empty(await LettersAsync(host));
        await TellsLateAsync(host, Core.Diary.LateTelling.Always);
        await RunJobAsync(host);
        Assert.Single(await LettersAsync(host));
    }

    [Fact]
    public async Task A_pupil_without_an_address_is_not_told_and_the_page_says_to_ring_them()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host);
        await host.WithDbAsync(db => db.Set<Web.Modules.Pupils.Pupil>().ExecuteUpdateAsync(set => set.SetProperty(p => p.Email, "")));
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(day.Marigold));
        const string Page = "/diary/running-late?minutes=20";
        Assert.Contains("not told: no e-mail address, ring them", await (await browser.GetAsync(Page)).TextAsync(), StringComparison.Ordinal);
        await browser.PostFormAsync(Page, ("At", Text(LarkfieldMonday.At(10, 45))));
        var strip = await (await browser.GetAsync("/diary/day")).TextAsync();
        Assert.Contains("Not told: no e-mail address, ring them: Wren Castellan.", strip, StringComparison.Ordinal);
        Assert.DoesNotContain("Told by e-mail", strip, StringComparison.Ordinal);
        Assert.Contains("minutes late, not told", strip, StringComparison.Ordinal);

        await RecordAsync(host, day.OnNow, day.Tight);
        await TellsLateAsync(host, Core.Diary.LateTelling.Always);
        host.Clock.Reset(LarkfieldMonday.At(15, 44));
        await RunJobAsync(host);
        Assert.Equal(0, await host.WithDbAsync(db => db.Set<Web.Modules.Diary.Day.LateNote>().CountAsync(n => n.LessonId != day.Tight.Id)));
    }

    [Fact]
    public async Task A_lesson_that_was_told_late_and_began_all_the_same_is_on_once_that_is_said()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host);
        var marigold = await host.Data.PersonAsync(day.Marigold);
        using var api = await host.ApiAsAsync(marigold);
        await (await api.SendJsonAsync(HttpMethod.Post, Url(day), new { minutes = 20, confirm = true })).JsonAsync();
        host.Clock.Reset(LarkfieldMonday.At(11, 50));
        var waits = await (await api.SendJsonAsync(HttpMethod.Post, Url(day), new { minutes = 10 })).JsonAsync();
        var begun = await (await api.SendJsonAsync(HttpMethod.Post, Url(day), new { minutes = 10, begun = true })).JsonAsync();
        Assert.Equal(System.Text.Json.JsonValueKind.Null, waits.GetProperty("onLessonId").ValueKind);
        Assert.Equal(day.Tight.Id, begun.GetProperty("onLessonId").GetGuid());
        Assert.DoesNotContain("Wren Castellan", begun.GetProperty("lessons").EnumerateArray().Select(l => l.Word("pupilName")));
        using var browser = await host.PagesAsAsync(marigold);
        Assert.Contains("/diary/running-late?minutes=10&begun=true", await (await browser.GetAsync("/diary/running-late?minutes=10")).TextAsync(), StringComparison.Ordinal);
    }

    private static Task<int> TellsLateAsync(SchoolHost host, Core.Diary.LateTelling telling) => host.WithDbAsync(async db =>
    {
        var row = await db.Set<Web.Modules.Diary.Settings.DiarySettings>().SingleAsync();
        row.Rules = row.Rules with { TellsLate = telling };
        return await db.SaveChangesAsync();
    });

    private static async Task RunJobAsync(SchoolHost host)
    {
        await using var scope = host.Services.CreateAsyncScope();
        await scope.ServiceProvider.GetRequiredService<Web.Modules.Diary.Day.TellLateByItself>().RunAsync(CancellationToken.None);
    }

    /// <summary>What is past is recorded, so that nothing but the last lesson is left.</summary>
    private static Task<int> RecordAsync(SchoolHost host, params Web.Modules.Diary.Lessons.Lesson[] lessons) => host.WithDbAsync(async db =>
    {
        foreach (var lesson in lessons)
        {
            (await db.Set<Web.Modules.Diary.Lessons.Lesson>().SingleAsync(l => l.Id == lesson.Id)).Record(60, "", LarkfieldMonday.At(15, 0));
        }

        return await db.SaveChangesAsync();
    });

    private static string Url(LarkfieldMonday day) => $"/api/v1/instructors/{day.Marigold.Id}/day/2026-03-02/late";

    private static Task<List<Said>> LettersAsync(SchoolHost host) => host.SaidAsync(all => all.Where(m => m.Kind == LessonMail.Late).OrderBy(m => m.Key));
}
