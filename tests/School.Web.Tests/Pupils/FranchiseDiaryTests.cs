using System.Net;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using School.Tests;
using School.Web.Modules.Diary.Contracts;
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
    public async Task A_snow_day_is_stopped_and_one_reason_opens_the_numbers_of_all_who_were_not_reached_and_nothing_else()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var (halt, wren) = await SnowAsync(school);
        var ottilie = await school.Host.Data.OfficeAsync("Ottilie Crane");
        using var office = await school.Host.ApiAsAsync(ottilie);
        using var pages = await school.Host.PagesAsAsync(ottilie);
        var (page, url) = ($"/diary/halts/{halt}", $"/api/v1/halts/{halt}");
        Assert.Equal([("Tamsin Oakley", ""), ("Wren Castellan", "")], await NumbersAsync(school, office, url));
        var before = await (await pages.GetAsync(page)).TextAsync();
        Assert.Contains("Why do you need the 2 numbers?", before, StringComparison.Ordinal);
        Assert.DoesNotContain("1632", before, StringComparison.Ordinal);

        // A reason that says nothing opens nothing and is told beside its field.
        var tooShort = await (await pages.PostFormAsync(page, $"{page}?handler=Numbers", ("Reason", "ring"))).TextAsync();
        Assert.Matches("href=\"#Reason\"[^>]*>Say why in 5 letters or more.", tooShort);
        Assert.Contains("value=\"ring\"", tooShort, StringComparison.Ordinal);
        Assert.Equal(["reason"], await (await office.SendJsonAsync(Post, $"{url}/numbers", new { reason = " " })).WrongFieldsAsync());
        Assert.Equal(0, await school.Host.WithDbAsync(db => db.Set<PupilAccess>().CountAsync()));

        using (var pressed = await pages.PostFormAsync(page, $"{page}?handler=Numbers", ("likely", Modules.Diary.Halts.DetailsModel.LikelyReason)))
        {
            Assert.Equal((HttpStatusCode.Redirect, $"{page}#calls"), (pressed.StatusCode, pressed.Headers.Location?.OriginalString));
        }

        Assert.Equal([("Tamsin Oakley", "+441632960002"), ("Wren Castellan", "+441632960003")], await NumbersAsync(school, office, url));
        var after = await (await pages.GetAsync(page)).TextAsync();
        Assert.Equal(2, System.Text.RegularExpressions.Regex.Count(after, "href=\"tel:"));
        Assert.DoesNotContain("Why do you need", after, StringComparison.Ordinal);
        // Only there, only to who said why, and nothing but the number: they are seen by name as before.
        Assert.DoesNotContain("@larkfield.example", after, StringComparison.Ordinal);
        foreach (var pupil in new[] { school.PupilId, wren.Id })
        {
            Assert.Equal("reason_needed", await (await office.GetAsync($"/api/v1/pupils/{pupil}")).CodeAsync(HttpStatusCode.Forbidden));
            Assert.Equal("not_your_pupil", await (await office.GetAsync($"/api/v1/pupils/{pupil}/guarded")).CodeAsync(HttpStatusCode.Forbidden));
        }

        Assert.Equal(0, (await office.GetJsonAsync("/api/v1/pupils?q=960002")).GetProperty("items").GetArrayLength());
        Assert.Equal([("Tamsin Oakley", ""), ("Wren Castellan", "")], await NumbersAsync(school, school.Office, url));

        // Each has a line in the audit, and who teaches them reads of it.
        var lines = await school.Host.WithDbAsync(db => db.Set<Modules.Records.AuditEntry>().AsNoTracking().Where(a => a.What == "pupil.number").ToListAsync());
        Assert.Equal(new[] { school.PupilId, wren.Id }.Order(), lines.Select(line => line.AboutId!.Value).Order());
        Assert.All(lines, line => Assert.Contains(Modules.Diary.Halts.DetailsModel.LikelyReason, line.Words, StringComparison.Ordinal));
        var told = (await school.Instructor.GetJsonAsync("/api/v1/pupils/access")).GetProperty("items").EnumerateArray().ToList();
        Assert.All(told, row => Assert.Equal(("Ottilie Crane", true), (row.Word("byName"), row.GetProperty("numberOnly").GetBoolean())));
        Assert.Equal(2, told.Count);

        using var ticked = await office.SendJsonAsync(Post, $"{url}/calls", new { pupilId = school.PupilId });
        Assert.Contains((await ticked.JsonAsync()).GetProperty("toCall").EnumerateArray(), call => call.GetProperty("calledAt").ValueKind != JsonValueKind.Null);

        school.Host.Clock.Reset(London(2026, 3, 3, 0));
        using var tomorrow = await school.Host.ApiAsAsync(ottilie);
        Assert.Equal([("Tamsin Oakley", ""), ("Wren Castellan", "")], await NumbersAsync(school, tomorrow, url));
    }

    [Fact]
    public async Task Who_comes_to_stand_on_the_list_later_is_among_those_whose_number_was_opened_and_another_list_is_not()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var (halt, wren) = await SnowAsync(school, unreached: false);
        var url = $"/api/v1/halts/{halt}";
        Assert.Empty(await NumbersAsync(school, school.Office, url));
        Assert.Equal(HttpStatusCode.OK, (await school.Office.SendJsonAsync(Post, $"{url}/numbers", new { reason = Reason })).StatusCode);
        school.Host.Clock.AdvanceMinutes(11);
        Assert.Equal([("Tamsin Oakley", "+441632960002"), ("Wren Castellan", "+441632960003")], await NumbersAsync(school, school.Office, url));

        await school.Office.BookedAsync(wren.Id, school.InstructorId, London(2026, 3, 5, 10));
        var second = $"/api/v1/halts/{await HaltAsync(school, 5)}";
        school.Host.Clock.AdvanceMinutes(11);
        Assert.Equal([("Wren Castellan", "")], await NumbersAsync(school, school.Office, second));
    }

    [Fact]
    public async Task Numbers_of_a_halt_use_up_none_of_the_pupils_that_one_may_open_a_day_and_want_a_halt_that_was_carried_out()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var (halt, _) = await SnowAsync(school);
        var ottilie = await school.Host.Data.OfficeAsync("Ottilie Crane");
        using var office = await school.Host.ApiAsAsync(ottilie);
        for (var n = 0; n < PupilAccess.MostADay; n++)
        {
            var pupil = await school.Host.Data.PupilAsync($"Linnet Brook {n}", instructor: school.InstructorId);
            await school.Host.AddAsync(new PupilAccess
            {
                PupilId = pupil.Id,
                PersonId = ottilie.Id,
                ByName = ottilie.Name,
                Reason = Reason,
                At = school.Host.Clock.GetCurrentInstant(),
                Until = London(2026, 3, 3, 0),
                NumberOn = halt,
            });
        }

        await FranchiseTests.OpenAsync(office, school.PupilId);
        Assert.DoesNotContain((await school.Office.GetJsonAsync("/api/v1/attention")).GetProperty("items").EnumerateArray(), item => item.Word("kind") == OpenedMany.Kind);
        Assert.Equal(HttpStatusCode.OK, (await office.SendJsonAsync(Post, $"/api/v1/halts/{halt}/numbers", new { reason = Reason })).StatusCode);

        await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 6, 10));
        using var asked = await school.Office.SendJsonAsync(Post, "/api/v1/halts", Snow(6));
        var open = (await asked.JsonAsync(HttpStatusCode.Created)).Id();
        Assert.Equal("halt_not_carried_out", await (await school.Office.SendJsonAsync(Post, $"/api/v1/halts/{open}/numbers", new { reason = Reason })).CodeAsync(HttpStatusCode.UnprocessableEntity));
        await FranchiseTests.SetAsync(school, false);
        Assert.Equal("reason_not_needed", await (await office.SendJsonAsync(Post, $"/api/v1/halts/{halt}/numbers", new { reason = Reason })).CodeAsync(HttpStatusCode.UnprocessableEntity));
    }

    private static object Snow(int day) => new { start = Text(London(2026, 3, day, 8)), end = Text(London(2026, 3, day, 18)), act = "cancel", reason = "weather" };

    private static async Task<Guid> HaltAsync(SmallSchool school, int day)
    {
        using var asked = await school.Office.SendJsonAsync(Post, "/api/v1/halts", Snow(day));
        var halt = (await asked.JsonAsync(HttpStatusCode.Created)).Id();
        Assert.Equal(HttpStatusCode.OK, (await school.Office.SendJsonAsync(Post, $"/api/v1/halts/{halt}/apply")).StatusCode);
        return halt;
    }

    /// <summary>Snow on Tuesday at a school where pupils belong to their instructor; both who had a lesson then have no address, or one that no letter has reached yet.</summary>
    private static async Task<(Guid Halt, Pupil Wren)> SnowAsync(SmallSchool school, bool unreached = true)
    {
        var wren = await school.Host.Data.PupilAsync("Wren Castellan", TestData.PlaceAt(), school.InstructorId);
        await school.Host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Id == wren.Id).ExecuteUpdateAsync(set => set.SetProperty(p => p.Phone, "+441632960003")));
        await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 3, 10));
        await school.Office.BookedAsync(wren.Id, school.InstructorId, London(2026, 3, 3, 14));
        if (unreached)
        {
            await school.Host.WithDbAsync(db => db.Set<Pupil>().ExecuteUpdateAsync(set => set.SetProperty(p => p.Email, "")));
        }

        await FranchiseTests.SetAsync(school, true);
        return (await HaltAsync(school, 3), wren);
    }

    private static async Task<List<(string Name, string? Phone)>> NumbersAsync(SmallSchool school, HttpClient api, string url)
    {
        var names = await school.Host.WithDbAsync(db => db.Set<Pupil>().ToDictionaryAsync(p => p.Id, p => p.Name));
        return [.. (await api.GetJsonAsync(url)).GetProperty("toCall").EnumerateArray().Select(call => (names[call.Id("pupilId")], call.Word("phone"))).Order()];
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
}
