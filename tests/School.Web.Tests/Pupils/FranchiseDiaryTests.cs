using System.Net;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using School.Tests;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Platform.Access;
using School.Web.Tests.Diary;
using School.Web.Tests.Diary.TestDays;
using School.Web.Tests.Host;
using static System.Net.Http.HttpMethod;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Pupils;

/// <summary>What the office still does where pupils belong to their instructor, and what the instructor hears of it. The clock stands at Monday 2 March 2026, 08:00.</summary>
public sealed class FranchiseDiaryTests(TestPostgres postgres)
{
    private const string Reason = "Their mother called me about Thursday.";

    [Fact]
    public async Task A_snow_day_is_stopped_and_who_was_not_reached_is_rung_for_a_reason()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var lesson = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 3, 10))).Id();
        await school.Host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Id == school.PupilId).ExecuteUpdateAsync(set => set.SetProperty(p => p.Email, "")));
        await FranchiseTests.SetAsync(school, true);
        using var asked = await school.Office.SendJsonAsync(Post, "/api/v1/halts", new { start = Text(London(2026, 3, 3, 8)), end = Text(London(2026, 3, 3, 18)), act = "cancel", reason = "weather" });
        var halt = (await asked.JsonAsync(HttpStatusCode.Created)).Id();
        var done = await (await school.Office.SendJsonAsync(Post, $"/api/v1/halts/{halt}/apply")).JsonAsync();
        Assert.Equal((school.PupilId, "", "noChannel"), Call(done));
        Assert.Equal(LessonState.Cancelled, await school.Host.WithDbAsync(db => db.Set<Lesson>().Where(l => l.Id == lesson).Select(l => l.State).SingleAsync()));
        using var pages = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Ottilie Crane"));
        var text = await (await pages.GetAsync($"/diary/halts/{halt}")).Content.ReadAsStringAsync();
        Assert.Contains($"/pupils/{school.PupilId}/access?to=/diary/halts/{halt}", text, StringComparison.Ordinal);
        Assert.DoesNotContain("1632", text, StringComparison.Ordinal);
        await FranchiseTests.OpenAsync(school.Office, school.PupilId);
        Assert.Equal("+441632960002", Call(await school.Office.GetJsonAsync($"/api/v1/halts/{halt}")).Phone);
        using var ticked = await school.Office.SendJsonAsync(Post, $"/api/v1/halts/{halt}/calls", new { pupilId = school.PupilId });
        Assert.NotEqual(JsonValueKind.Null, (await ticked.JsonAsync()).GetProperty("toCall")[0].GetProperty("calledAt").ValueKind);
    }

    [Fact]
    public async Task Lessons_of_two_instructors_pupils_are_swapped_and_weekly_ones_booked_by_name()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var other = await school.Host.Data.InstructorAsync("Piers Anstey");
        var wren = await school.Host.Data.PupilAsync("Wren Castellan", TestData.PlaceAt(), other.Id);
        await FranchiseTests.SetAsync(school, true);
        var ten = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 4, 10))).Id();
        var two = (await school.Office.BookedAsync(wren.Id, other.Id, London(2026, 3, 4, 14))).Id();
        using var asked = await school.Office.SendJsonAsync(Post, "/api/v1/swaps", new { lessonId = ten, withLessonId = two, agreed = new[] { ten, two } });
        var swap = (await asked.JsonAsync(HttpStatusCode.Created)).Id();
        using var pages = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Ottilie Crane"));
        var text = await (await pages.GetAsync($"/diary/swaps/{swap}")).TextAsync();
        Assert.Contains("Tamsin Oakley", text, StringComparison.Ordinal);
        Assert.DoesNotContain("1632", text, StringComparison.Ordinal);
        Assert.DoesNotContain("@larkfield.example", text, StringComparison.Ordinal);
        using var weekly = await school.Office.SendJsonAsync(Post, "/api/v1/weekly", new
        {
            book = new { pupilId = school.PupilId, instructorId = school.InstructorId, start = Text(London(2026, 3, 5, 10)), minutes = 60, weeks = 2 },
        });
        var series = (await weekly.JsonAsync(HttpStatusCode.Created)).Id();
        Assert.Equal(HttpStatusCode.OK, (await school.Office.SendJsonAsync(Post, $"/api/v1/weekly/{series}/apply")).StatusCode);
        Assert.Equal(3, (await school.Office.GetJsonAsync($"/api/v1/lessons?pupilId={school.PupilId}")).GetProperty("items").GetArrayLength());
    }

    [Fact]
    public async Task A_lesson_of_long_ago_keeps_its_place_in_the_diary_of_the_office_and_loses_what_was_noted()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var lesson = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 3, 10))).Id();
        school.Host.Clock.Reset(London(2026, 3, 3, 12));
        Assert.Equal(HttpStatusCode.OK, (await school.Instructor.RecordAsync(lesson, 60, "Smooth on the hill.")).StatusCode);
        await FranchiseTests.SetAsync(school, true);
        school.Host.Clock.Reset(London(2026, 3, 20, 12));
        using var office = await school.Host.ApiAsAsync(await school.Host.Data.OfficeAsync("Ottilie Crane"));
        var read = await office.GetJsonAsync($"/api/v1/lessons/{lesson}");
        var listed = Assert.Single((await office.GetJsonAsync($"/api/v1/lessons?pupilId={school.PupilId}")).GetProperty("items").EnumerateArray());
        foreach (var one in new[] { read, listed })
        {
            Assert.Equal("Mill Lane", one.GetProperty("pickUp").Word("label"));
            Assert.Equal(JsonValueKind.Number, one.GetProperty("pickUp").GetProperty("latitude").ValueKind);
            Assert.Equal((JsonValueKind.Null, JsonValueKind.Null), (one.GetProperty("note").ValueKind, one.GetProperty("minutesTaught").ValueKind));
        }

        // Put right once more, so that the history tells what stood before.
        Assert.Equal(HttpStatusCode.OK, (await school.Instructor.RecordAsync(lesson, 45, "Smooth downhill too.")).StatusCode);
        using var pages = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Corin Marsh"));
        var history = (await office.GetJsonAsync($"/api/v1/lessons/{lesson}/history")).ToString();
        foreach (var told in new[] { history, await (await pages.GetAsync($"/diary/lessons/{lesson}")).TextAsync() })
        {
            Assert.Contains("What was taught was written down.", told, StringComparison.Ordinal);
            Assert.All(new[] { "Smooth", "45 minutes", "Taught, " }, words => Assert.DoesNotContain(words, told, StringComparison.Ordinal));
        }

        using var own = await school.Host.ApiAsAsync(await school.Host.WithDbAsync(db => db.Set<Person>().SingleAsync(p => p.InstructorId == school.InstructorId)));
        Assert.Contains("Smooth on the hill.", (await own.GetJsonAsync($"/api/v1/lessons/{lesson}/history")).ToString(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_list_tells_the_office_with_whom_a_pupil_learns_and_another_instructor_that_it_is_somebody_else()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await FranchiseTests.SetAsync(school, true);
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Ottilie Crane"));
        Assert.Contains("with <bdi>Marigold Ashby</bdi>", await (await office.GetAsync("/pupils")).TextAsync(), StringComparison.Ordinal);
        using var other = await school.Host.PagesAsAsync(await school.Host.Data.PersonAsync(await school.Host.Data.InstructorAsync("Piers Anstey")));
        Assert.Contains("with <bdi>somebody else</bdi>", await (await other.GetAsync("/pupils")).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_test_day_warns_of_papers_whoever_may_see_them()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Id == school.PupilId).ExecuteUpdateAsync(set => set.SetProperty(p => p.TheoryPassedOn, (NodaTime.LocalDate?)null)));
        var test = await (await school.Office.SendJsonAsync(
            Post, TestDayApi.Path, TestDayApi.Body(school.PupilId, London(2026, 3, 24, 10), ("instructorId", school.InstructorId)))).JsonAsync(HttpStatusCode.Created);
        Assert.Contains("theory_missing", test.Warnings());
        await FranchiseTests.SetAsync(school, true);
        var url = $"{TestDayApi.Path}/{test.Id()}";
        Assert.DoesNotContain("theory_missing", (await school.Office.GetJsonAsync(url)).Warnings());
        Assert.Contains("theory_missing", (await school.Instructor.GetJsonAsync(url)).Warnings());
        using var pages = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Ottilie Crane"));
        Assert.DoesNotContain("heory", await (await pages.GetAsync($"/diary/test-days/{test.Id()}")).TextAsync(), StringComparison.Ordinal);
        Assert.DoesNotContain("heory", await (await pages.GetAsync("/diary/attention")).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Who_is_seen_by_name_is_invited_all_the_same_and_where_the_letter_goes_is_not_told()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await FranchiseTests.SetAsync(school, true);
        var wren = await school.Host.Data.PupilAsync("Wren Castellan", instructor: school.InstructorId);
        var asks = $"/pupils/{wren.Id}/access";
        using (var diary = await school.Host.PagesAsAsync(await school.Host.Data.WearerAsync("Bryony Vale", "bryony@larkfield.example", new[] { OfficePart.Diary }.Together())))
        {
            Assert.DoesNotContain("Invite to sign in", await (await diary.GetAsync(asks)).TextAsync(), StringComparison.Ordinal);
            using var refused = await diary.PostFormAsync(asks, $"{asks}?handler=Invite");
            Assert.Null(await InvitedAsync());
        }

        using var pages = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Ottilie Crane"));
        var before = await (await pages.GetAsync(asks)).TextAsync();
        Assert.Contains("Not invited yet.", before, StringComparison.Ordinal);
        using (var invited = await pages.PostFormAsync(asks, $"{asks}?handler=Invite"))
        {
            Assert.Equal((HttpStatusCode.Redirect, asks), (invited.StatusCode, invited.Headers.Location?.OriginalString));
        }

        Assert.Equal(wren.Email, await InvitedAsync());
        var after = await (await pages.GetAsync(asks)).TextAsync();
        Assert.Contains("The invitation for Wren Castellan is written, but goes nowhere", after, StringComparison.Ordinal);
        Assert.Contains("Invited; no password chosen yet.", after, StringComparison.Ordinal);
        Assert.DoesNotContain(wren.Email, before + after, StringComparison.Ordinal);
        await school.Host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Id == wren.Id).ExecuteUpdateAsync(set => set.SetProperty(p => p.RetiredOn, new NodaTime.LocalDate(2026, 3, 2))));
        Assert.DoesNotContain("Invite to sign in", await (await pages.GetAsync(asks)).TextAsync(), StringComparison.Ordinal);

        Task<string?> InvitedAsync() => school.Host.WithDbAsync(db => db.Set<Person>().Where(p => p.PupilId == wren.Id).Select(p => p.Email).SingleOrDefaultAsync());
    }

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public async Task Who_teaches_a_pupil_reads_who_opened_them_and_nobody_else_of_the_instructors_does(bool franchise)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var piers = await school.Host.Data.PersonAsync(await school.Host.Data.InstructorAsync("Piers Anstey"));
        await FranchiseTests.SetAsync(school, franchise);
        using var stranger = await school.Host.ApiAsAsync(piers);
        using var strangers = await school.Host.PagesAsAsync(piers);
        using var pages = await school.Host.PagesAsAsync(await school.Host.WithDbAsync(db => db.Set<Person>().SingleAsync(p => p.InstructorId == school.InstructorId)));
        Assert.DoesNotContain("Opened by reason", await (await pages.GetAsync($"/pupils/{school.PupilId}")).TextAsync(), StringComparison.Ordinal);
        await FranchiseTests.OpenAsync(stranger, school.PupilId);
        var of = $"/api/v1/pupils/access?pupilId={school.PupilId}";
        foreach (var url in new[] { "/api/v1/pupils/access", of })
        {
            var row = Assert.Single((await school.Instructor.GetJsonAsync(url)).GetProperty("items").EnumerateArray());
            Assert.Equal(("Piers Anstey", Reason), (row.Word("byName"), row.Word("reason")));
            Assert.Equal(HttpStatusCode.OK, (await school.Instructor.GetAsync($"/api/v1/pupils/{school.PupilId}/access/{row.Id()}")).StatusCode);
        }

        foreach (var page in new[] { $"/pupils/{school.PupilId}", "/pupils/opened", $"/pupils/opened?pupil={school.PupilId}" })
        {
            var text = await (await pages.GetAsync(page)).TextAsync();
            Assert.True(text.Contains("Piers Anstey", StringComparison.Ordinal) && text.Contains(Reason, StringComparison.Ordinal), page);
        }

        // Whoever opened them reads of it on no list: theirs are the pupils of others.
        Assert.Equal(0, (await stranger.GetJsonAsync("/api/v1/pupils/access")).GetProperty("items").GetArrayLength());
        Assert.Equal("not_your_pupil", await (await stranger.GetAsync(of)).CodeAsync(HttpStatusCode.Forbidden));
        Assert.DoesNotContain(Reason, await (await strangers.GetAsync($"/pupils/{school.PupilId}")).TextAsync(), StringComparison.Ordinal);
        using var led = await strangers.GetAsync($"/pupils/opened?pupil={school.PupilId}");
        Assert.Equal($"/pupils/{school.PupilId}/access?own=true", led.Headers.Location?.OriginalString);
        // Who looks after people reads all of it, as before.
        Assert.Single((await school.Office.GetJsonAsync("/api/v1/pupils/access")).GetProperty("items").EnumerateArray());
        Assert.Equal(HttpStatusCode.NotFound, (await school.Office.GetAsync($"/api/v1/pupils/access?pupilId={Guid.NewGuid()}")).StatusCode);
    }

    [Fact]
    public async Task Past_forecasts_are_told_of_whom_the_viewer_sees_and_count_the_others()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var teacher = await host.TeacherAsync();
        var (theirs, nobodys) = (await host.Data.PupilAsync("Corin Marsh", instructor: teacher.Instructor.Id), await host.Data.PupilAsync("Linnet Brook"));
        foreach (var (pupil, day) in new[] { (theirs, 6), (nobodys, 7) })
        {
            await host.TeachAsync(teacher, pupil, 24, new(2025, 1, day), i => 1 + (i * 3 / 23));
            await host.PassAsync(pupil, new(2025, 7, day));
        }

        var (owner, settings) = (await host.Data.OfficeAsync("Ottilie Crane"), await host.Data.WearerAsync("Bryony Vale", "bryony@larkfield.example", new[] { OfficePart.Settings }.Together()));
        foreach (var (franchise, person, shown) in new[] { (false, owner, 2), (false, settings, 2), (true, owner, 1), (true, settings, 0) })
        {
            await host.WithDbAsync(db => db.Set<Modules.School.SchoolProfile>().ExecuteUpdateAsync(set => set.SetProperty(s => s.PupilsBelongToInstructor, franchise)));
            using var api = await host.ApiAsAsync(person);
            using var pages = await host.PagesAsAsync(person);
            var read = await api.GetJsonAsync("/api/v1/syllabus/backtest");
            var text = await (await pages.GetAsync("/syllabus/backtest")).TextAsync();
            Assert.Equal(2, read.GetProperty("finishedPupils").GetInt32());
            Assert.Equal(shown, read.GetProperty("items").EnumerateArray().Select(item => item.Id("pupilId")).Distinct().Count());
            Assert.Equal((shown == 2, shown > 0), (text.Contains("Corin Marsh", StringComparison.Ordinal), text.Contains("Linnet Brook", StringComparison.Ordinal)));
            Assert.Equal(shown < 2, text.Contains($"{2 - shown} of them belong to their instructor", StringComparison.Ordinal));
        }

        using var office = await host.ApiAsAsync(owner);
        await FranchiseTests.OpenAsync(office, theirs.Id);
        Assert.Contains(theirs.Id.ToString(), await office.GetStringAsync("/api/v1/syllabus/backtest"), StringComparison.Ordinal);
    }

    private static (Guid Pupil, string? Phone, string? Why) Call(JsonElement halt) =>
        Assert.Single(halt.GetProperty("toCall").EnumerateArray()) is var one ? (one.Id("pupilId"), one.Word("phone"), one.Word("why")) : default;
}
