using System.Net;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using School.Tests;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Modules.Records;
using School.Web.Modules.School;
using School.Web.Platform.Access;
using School.Web.Tests.Diary;
using School.Web.Tests.Diary.TestDays;
using School.Web.Tests.Host;
using static System.Net.Http.HttpMethod;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Pupils;

/// <summary>A school at which pupils belong to their instructor: the office sees the diary, and the rest by reason. The clock stands at Monday 2 March 2026, 08:00.</summary>
public sealed class FranchiseTests(TestPostgres postgres)
{
    private const string Reason = "Their mother called me about Thursday.";
    private const string Phone = "960002";

    [Fact]
    public async Task The_profile_says_what_it_does_before_it_is_kept_and_the_audit_that_it_was_changed()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        using var pages = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Ottilie Crane"));
        var text = await (await pages.GetAsync("/people/school")).TextAsync();
        Assert.Contains("Pupils belong to their instructor", text, StringComparison.Ordinal);
        Assert.Contains("the office keeps the diary as before", text, StringComparison.Ordinal);
        (string, string)[] fields =
        [
            ("Version", "1"), ("Input.Name", "Larkfield Driving School"), ("Input.Zone", "Europe/London"), ("Input.Nation", "england-and-wales"),
        ];
        Assert.False(await ReadAsync(school));
        Assert.Equal(HttpStatusCode.Redirect, (await pages.PostFormAsync("/people/school", [.. fields, ("Input.PupilsBelongToInstructor", "true")])).StatusCode);
        Assert.True(await ReadAsync(school));
        var line = await school.Host.WithDbAsync(db => db.Set<AuditEntry>().OrderByDescending(a => a.Id).FirstAsync(a => a.What == "school.change"));
        Assert.Contains("pupils belong to instructor", line.Words, StringComparison.OrdinalIgnoreCase);
        Assert.Contains("checked=\"checked\"", await (await pages.GetAsync("/people/school")).Content.ReadAsStringAsync(), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("Diary")]
    [InlineData("People")]
    [InlineData("Diary People Money Settings Confidential")]
    public async Task Of_pupils_of_instructors_the_office_gets_the_name_and_finds_by_nothing_else(string parts)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        using var office = await OfficeAsync(school, parts.Split(' ').Select(Enum.Parse<OfficePart>).ToArray().Together());
        var search = $"/api/v1/pupils?q={Phone}";
        Assert.Equal(1, await FoundAsync(office, search));
        await SetAsync(school, true);
        var row = Assert.Single((await office.GetJsonAsync("/api/v1/pupils")).GetProperty("items").EnumerateArray());
        Assert.Equal(("Tamsin Oakley", "name"), (row.Word("name"), row.Word("sees")));
        Assert.All(row.EnumerateObject().Where(member => member.Name is not ("id" or "name" or "sees")), member => Assert.Equal(JsonValueKind.Null, member.Value.ValueKind));
        Assert.Equal(0, await FoundAsync(office, search));
        Assert.Equal(0, await FoundAsync(office, "/api/v1/pupils?q=larkfield.example"));
        // Who teaches them is asked nothing, and searches as before.
        Assert.Equal(1, await FoundAsync(school.Instructor, search));
        await OpenAsync(office, school.PupilId);
        var opened = Assert.Single((await office.GetJsonAsync(search)).GetProperty("items").EnumerateArray());
        Assert.Equal("byReason", opened.Word("sees"));
        Assert.Equal(JsonValueKind.Null, opened.GetProperty("birthDate").ValueKind);
    }

    [Theory]
    [MemberData(nameof(OpenByReasonTests.Opened), MemberType = typeof(OpenByReasonTests))]
    public async Task Contact_places_and_record_open_to_the_office_for_a_reason_until_midnight(string what)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var person = await school.Host.Data.OfficeAsync("Ottilie Crane");
        using var office = await school.Host.ApiAsAsync(person);
        var url = $"/api/v1/pupils/{school.PupilId}{what}";
        await SetAsync(school, true);
        var problem = await (await office.GetAsync(url)).JsonAsync(HttpStatusCode.Forbidden);
        Assert.Equal(("reason_needed", $"/pupils/{school.PupilId}/access"), (problem.Word("code"), problem.Word("page")));
        Assert.Contains("pupils belong to their instructor", problem.Word("detail"), StringComparison.Ordinal);
        var opened = await OpenAsync(office, school.PupilId);
        Assert.Equal(London(2026, 3, 3, 0), opened.Moment("until"));
        Assert.Equal(HttpStatusCode.OK, (await office.GetAsync(url)).StatusCode);
        // For whoever gave the reason, and nobody else of the office.
        Assert.Equal("reason_needed", await (await school.Office.GetAsync(url)).CodeAsync(HttpStatusCode.Forbidden));
        var line = await school.Host.WithDbAsync(db => db.Set<AuditEntry>().SingleAsync(a => a.What == "pupil.access"));
        Assert.Equal(("Ottilie Crane", school.PupilId), (line.ByName, line.AboutId));
        Assert.Contains(Reason, line.Words, StringComparison.Ordinal);
        school.Host.Clock.Reset(London(2026, 3, 3, 0));
        using var tomorrow = await school.Host.ApiAsAsync(person);
        Assert.Equal("reason_needed", await (await tomorrow.GetAsync(url)).CodeAsync(HttpStatusCode.Forbidden));
        await SetAsync(school, false);
        Assert.Equal(HttpStatusCode.OK, (await tomorrow.GetAsync(url)).StatusCode);
    }

    [Theory]
    [MemberData(nameof(OpenByReasonTests.Never), MemberType = typeof(OpenByReasonTests))]
    public async Task No_reason_opens_to_the_office_what_is_for_who_teaches_them(string method, string what, string body)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        Assert.NotEqual(HttpStatusCode.Forbidden, (await SendAsync(school.Office, method, school.PupilId, what, body)).StatusCode);
        await SetAsync(school, true);
        await OpenAsync(school.Office, school.PupilId);
        using var answer = await SendAsync(school.Office, method, school.PupilId, what, body);
        Assert.Equal("not_your_pupil", await answer.CodeAsync(HttpStatusCode.Forbidden));
        Assert.NotEqual(HttpStatusCode.Forbidden, (await SendAsync(school.Instructor, method, school.PupilId, what, body)).StatusCode);
    }

    [Fact]
    public async Task The_office_keeps_the_diary_of_pupils_whom_it_sees_by_name()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var other = await school.Host.Data.InstructorAsync("Piers Anstey");
        await SetAsync(school, true);
        Assert.NotEqual(0, await FoundAsync(school.Office, $"/api/v1/slots?pupilId={school.PupilId}&minutes=60&from=2026-03-03&to=2026-03-04"));
        var lesson = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 3, 10))).Id();
        Assert.Equal("Mill Lane", (await school.Office.GetJsonAsync($"/api/v1/lessons/{lesson}")).GetProperty("pickUp").Word("label"));
        Assert.Equal(HttpStatusCode.OK, (await school.Office.MoveAsync(lesson, London(2026, 3, 4, 10))).StatusCode);
        Assert.Equal(HttpStatusCode.Created, (await school.Office.SendJsonAsync(Post, "/api/v1/waiting-list", new { pupilId = school.PupilId, @for = "earlierLesson" })).StatusCode);
        Assert.Equal(1, await FoundAsync(school.Office, "/api/v1/waiting-list"));
        using var cover = await school.Office.SendJsonAsync(Post, "/api/v1/covers", new { instructorId = school.InstructorId, start = Text(London(2026, 3, 4, 0)), end = Text(London(2026, 3, 5, 0)) });
        Assert.True(cover.IsSuccessStatusCode, await cover.Content.ReadAsStringAsync());
        using var pages = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Ottilie Crane"));
        foreach (var page in new[] { "/diary/board?date=2026-03-04", $"/diary/day?instructorId={school.InstructorId}&date=2026-03-04", $"/diary/lessons/{lesson}", $"/diary/lessons?pupil={school.PupilId}", "/diary/waiting" })
        {
            using var shown = await pages.GetAsync(page);
            var text = await shown.TextAsync();
            Assert.True(shown.StatusCode == HttpStatusCode.OK && text.Contains("Tamsin Oakley", StringComparison.Ordinal), $"{page}: {(int)shown.StatusCode}");
            Assert.DoesNotContain("01632", text, StringComparison.Ordinal);
        }

        Assert.Equal(HttpStatusCode.OK, (await pages.GetAsync($"/diary/book?pupil={school.PupilId}")).StatusCode);
        Assert.Equal(HttpStatusCode.OK, (await school.Office.CancelAsync(lesson)).StatusCode);
        // Another instructor still books nobody else's pupil.
        using var stranger = await school.Host.ApiAsAsync(await school.Host.Data.PersonAsync(other));
        Assert.Equal("not_your_pupil", await (await stranger.BookAsync(school.PupilId, other.Id, London(2026, 3, 5, 10))).CodeAsync(HttpStatusCode.Forbidden));
    }

    [Fact]
    public async Task Pupils_of_nobody_or_of_somebody_who_left_and_the_owners_own_stay_open()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await SetAsync(school, true);
        var nobodys = await school.Host.Data.PupilAsync("Wren Castellan");
        var gone = await school.Host.Data.InstructorAsync("Piers Anstey");
        var orphan = await school.Host.Data.PupilAsync("Corin Marsh", instructor: gone.Id);
        Assert.Equal("reason_needed", await (await school.Office.GetAsync($"/api/v1/pupils/{orphan.Id}")).CodeAsync(HttpStatusCode.Forbidden));
        await school.Host.WithDbAsync(async db =>
        {
            (await db.Set<Instructor>().SingleAsync(i => i.Id == gone.Id)).RetiredOn = new(2026, 3, 1);
            return await db.SaveChangesAsync();
        });
        foreach (var pupil in new[] { nobodys.Id, orphan.Id })
        {
            Assert.Equal("everything", (await school.Office.GetJsonAsync($"/api/v1/pupils/{pupil}")).Word("sees"));
            Assert.Equal(HttpStatusCode.OK, (await school.Office.GetAsync($"/api/v1/pupils/{pupil}/guarded")).StatusCode);
            Assert.Equal("reason_not_needed", await (await AskAsync(school.Office, pupil)).CodeAsync(HttpStatusCode.UnprocessableEntity));
        }

        var teaches = await school.Host.Data.InstructorAsync("Ottilie Crane");
        using var owner = await school.Host.ApiAsAsync(await school.Host.Data.WearerAsync("Ottilie Crane", "ottilie@larkfield.example", OfficeParts.All, teaches.Id));
        var own = await school.Host.Data.PupilAsync("Linnet Brook", instructor: teaches.Id);
        Assert.Equal("everything", (await owner.GetJsonAsync($"/api/v1/pupils/{own.Id}")).Word("sees"));
        Assert.Equal("reason_needed", await (await owner.GetAsync($"/api/v1/pupils/{school.PupilId}")).CodeAsync(HttpStatusCode.Forbidden));
        // A lesson within a week makes them the owner's as it would any instructor's, where it was given to them.
        await school.Office.BookedAsync(school.PupilId, teaches.Id, London(2026, 3, 4, 10));
        Assert.Equal("everything", (await owner.GetJsonAsync($"/api/v1/pupils/{school.PupilId}")).Word("sees"));
    }

    /// <summary>Whoever keeps the diary and teaches puts a lesson of somebody else's pupil into their own diary, in each of the ways in which they can.</summary>
    [Theory]
    [InlineData("book")]
    [InlineData("move")]
    [InlineData("cover")]
    [InlineData("swap")]
    [InlineData("weekly")]
    [InlineData("test")]
    public async Task A_lesson_with_oneself_that_one_arranged_alone_opens_what_the_lesson_needs_and_makes_nobody_ones_own(string way)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var teaches = await school.Host.Data.InstructorAsync("Ottilie Crane");
        var own = await school.Host.Data.PupilAsync("Linnet Brook", TestData.PlaceAt(), instructor: teaches.Id);
        using var owner = await school.Host.ApiAsAsync(await school.Host.Data.WearerAsync("Ottilie Crane", "ottilie@larkfield.example", OfficeParts.All, teaches.Id));
        await SetAsync(school, true);
        var at = London(2026, 3, 4, 10);
        async Task<Guid> MadeAsync(string url, object body) => (await (await owner.SendJsonAsync(Post, url, body)).JsonAsync(HttpStatusCode.Created)).Id();
        async Task DoneAsync(string url, object? body = null)
        {
            using var answer = await owner.SendJsonAsync(Post, url, body);
            Assert.True(answer.IsSuccessStatusCode, await answer.Content.ReadAsStringAsync());
        }

        switch (way)
        {
            case "book":
                await owner.BookedAsync(school.PupilId, teaches.Id, at);
                break;
            case "move":
                var theirs = (await school.Instructor.BookedAsync(school.PupilId, school.InstructorId, at)).Id();
                await DoneAsync($"/api/v1/lessons/{theirs}/move", new { start = Text(at), instructorId = teaches.Id });
                break;
            case "cover":
                await school.Instructor.BookedAsync(school.PupilId, school.InstructorId, at);
                var cover = await MadeAsync("/api/v1/covers", new { instructorId = school.InstructorId, start = Text(London(2026, 3, 4, 0)), end = Text(London(2026, 3, 5, 0)) });
                await DoneAsync($"/api/v1/covers/{cover}/apply");
                break;
            case "swap":
                var (ten, two) = ((await school.Instructor.BookedAsync(school.PupilId, school.InstructorId, at)).Id(), (await owner.BookedAsync(own.Id, teaches.Id, London(2026, 3, 4, 14))).Id());
                var swap = await MadeAsync("/api/v1/swaps", new { lessonId = ten, withLessonId = two, agreed = new[] { ten, two } });
                await DoneAsync($"/api/v1/swaps/{swap}/apply", new { asked = true });
                break;
            case "weekly":
                var series = await MadeAsync("/api/v1/weekly", new { book = new { pupilId = school.PupilId, instructorId = teaches.Id, start = Text(at), minutes = 60, weeks = 2 } });
                await DoneAsync($"/api/v1/weekly/{series}/apply");
                break;
            default:
                await MadeAsync("/api/v1/test-days", TestDayApi.Body(school.PupilId, London(2026, 3, 6, 10), ("instructorId", teaches.Id)));
                break;
        }

        Assert.True(await school.Host.WithDbAsync(async db => await db.Set<Lesson>().AnyAsync(l => l.PupilId == school.PupilId && l.InstructorId == teaches.Id)
            || await db.Set<Modules.Diary.TestDays.TestDay>().AnyAsync(t => t.PupilId == school.PupilId && t.InstructorId == teaches.Id)), "Nothing came into the owner's diary.");
        var row = await owner.GetJsonAsync($"/api/v1/pupils/{school.PupilId}");
        Assert.Equal(("byReason", JsonValueKind.Null), (row.Word("sees"), row.GetProperty("birthDate").ValueKind));
        foreach (var (method, what, body) in OpenByReasonTests.Never.Select(one => one.Data))
        {
            using var answer = await SendAsync(owner, method, school.PupilId, what, body);
            Assert.True(answer.StatusCode == HttpStatusCode.Forbidden, $"{method} {what}: {(int)answer.StatusCode}");
        }

        // It is theirs to keep once the pupil is handed over for good, of which everybody hears.
        var handed = await MadeAsync($"/api/v1/pupils/{school.PupilId}/hand-over", new { instructorId = teaches.Id, from = "2026-03-03" });
        await DoneAsync($"/api/v1/hand-overs/{handed}/apply");
        Assert.Equal("everything", (await owner.GetJsonAsync($"/api/v1/pupils/{school.PupilId}")).Word("sees"));
    }

    [Fact]
    public async Task A_lesson_that_the_pupil_took_with_who_keeps_the_diary_makes_them_their_own_also_once_it_was_moved()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var teaches = await school.Host.Data.InstructorAsync("Ottilie Crane");
        using var owner = await school.Host.ApiAsAsync(await school.Host.Data.WearerAsync("Ottilie Crane", "ottilie@larkfield.example", OfficeParts.All, teaches.Id));
        await SetAsync(school, true);
        var lesson = (await school.Pupil.BookedAsync(school.PupilId, teaches.Id, London(2026, 3, 5, 10))).Id();
        Assert.Equal("everything", (await owner.GetJsonAsync($"/api/v1/pupils/{school.PupilId}")).Word("sees"));
        Assert.Equal(HttpStatusCode.OK, (await owner.MoveAsync(lesson, London(2026, 3, 5, 14))).StatusCode);
        Assert.Equal("everything", (await owner.GetJsonAsync($"/api/v1/pupils/{school.PupilId}")).Word("sees"));
    }

    [Fact]
    public async Task Writing_follows_seeing()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await SetAsync(school, true);
        var contact = await school.Host.Data.ContactAsync("Bram Oakley", (school.PupilId, []));
        object reached = new { email = "tamsin.new@larkfield.example", phone = "01632 960123", pickUp = new { label = "Mill Lane", address = "", latitude = 52.4, longitude = -1.2 } };
        object place = new { label = "Gorse Yard", latitude = 52.4, longitude = -1.2 };
        (HttpMethod Method, string What, object? Body, HttpStatusCode After)[] writes =
        [
            (Put, "/contact", reached, HttpStatusCode.OK),
            (Post, "/places", place, HttpStatusCode.Created),
            (Put, $"/contacts/{contact.Id}", new { relation = "father" }, HttpStatusCode.OK),
            (Post, $"/contacts/{contact.Id}/invitation", null, HttpStatusCode.OK),
            (Delete, $"/contacts/{contact.Id}", null, HttpStatusCode.NoContent),
        ];
        async Task<HttpResponseMessage> WriteAsync(HttpMethod method, string what, object? body) =>
            await school.Office.SendJsonAsync(method, $"/api/v1/pupils/{school.PupilId}{what}", body, etag: "*");
        foreach (var (method, what, body, _) in writes)
        {
            Assert.Equal("reason_needed", await (await WriteAsync(method, what, body)).CodeAsync(HttpStatusCode.Forbidden));
        }

        Assert.Equal("reason_needed", await (await school.Office.GetAsync($"/api/v1/contacts/{contact.Id}")).CodeAsync(HttpStatusCode.Forbidden));
        Assert.Equal("reason_needed", await (await school.Office.SendJsonAsync(Put, $"/api/v1/contacts/{contact.Id}", new { name = "Bram Oakley", email = "other@larkfield.example", kind = "parent" }, etag: "*")).CodeAsync(HttpStatusCode.Forbidden));
        Assert.Equal("not_your_pupil", await (await WriteAsync(Put, "", new { name = "Tamsin Oak", email = "a@larkfield.example" })).CodeAsync(HttpStatusCode.Forbidden));
        await OpenAsync(school.Office, school.PupilId);
        foreach (var (method, what, body, after) in writes)
        {
            using var written = await WriteAsync(method, what, body);
            var text = await written.Content.ReadAsStringAsync();
            Assert.True(written.StatusCode == after, $"{method} {what}: {(int)written.StatusCode} {text}");
            Assert.DoesNotContain("2007-05-04", text, StringComparison.Ordinal);
        }

        Assert.Equal("not_your_pupil", await (await WriteAsync(Put, "", new { name = "Tamsin Oak", email = "a@larkfield.example" })).CodeAsync(HttpStatusCode.Forbidden));
        Assert.Equal("+441632960123", await school.Host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Id == school.PupilId).Select(p => p.Phone).SingleAsync()));
    }

    [Fact]
    public async Task What_was_taught_is_written_down_by_who_gave_the_lesson_and_by_the_office_for_a_reason()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await SetAsync(school, true);
        var lesson = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 3, 10))).Id();
        school.Host.Clock.Reset(London(2026, 3, 3, 12));
        Assert.Equal("reason_needed", await (await school.Office.RecordAsync(lesson, 60, "Smooth on the hill.")).CodeAsync(HttpStatusCode.Forbidden));
        Assert.Equal(HttpStatusCode.OK, (await school.Instructor.RecordAsync(lesson, 60, "Smooth on the hill.")).StatusCode);
        // The lesson stands in the diary; what was taught in it does not.
        Assert.Equal(JsonValueKind.Null, (await school.Office.GetJsonAsync($"/api/v1/lessons/{lesson}")).GetProperty("note").ValueKind);
        Assert.DoesNotContain("Smooth", await school.Office.GetStringAsync($"/api/v1/lessons?pupilId={school.PupilId}"), StringComparison.Ordinal);
        Assert.Equal("reason_needed", await (await school.Office.GetAsync($"/api/v1/lessons/{lesson}/record")).CodeAsync(HttpStatusCode.Forbidden));
        Assert.Equal("reason_needed", await (await school.Office.GetAsync($"/api/v1/lessons/{lesson}/brief")).CodeAsync(HttpStatusCode.Forbidden));
        Assert.Equal(0, (await school.Office.GetJsonAsync($"/api/v1/instructors/{school.InstructorId}/learning")).GetProperty("pupils").GetArrayLength());
        await OpenAsync(school.Office, school.PupilId);
        Assert.Equal("Smooth on the hill.", (await school.Office.GetJsonAsync($"/api/v1/lessons/{lesson}")).Word("note"));
        Assert.Equal(1, (await school.Office.GetJsonAsync($"/api/v1/instructors/{school.InstructorId}/learning")).GetProperty("pupils").GetArrayLength());
        Assert.Equal(HttpStatusCode.OK, (await school.Office.RecordAsync(lesson, 55, "Smooth on the hill, and back.")).StatusCode);
    }

    [Fact]
    public async Task Lists_of_the_office_tell_no_more_than_the_name()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Host.WithDbAsync(async db =>
        {
            var row = await db.Set<Pupil>().SingleAsync(p => p.Id == school.PupilId);
            (row.TheoryPassedOn, row.LicenceFrom) = (new(2024, 3, 11), null);
            return await db.SaveChangesAsync();
        });
        await school.Office.BookAsync(school.PupilId, school.InstructorId, London(2026, 3, 3, 10));
        var contact = await school.Host.Data.ContactAsync("Bram Oakley", (school.PupilId, []));
        await school.Office.SendJsonAsync(Put, $"/api/v1/contacts/{contact.Id}", new { name = "Bram Oakley", email = "bram.moved@larkfield.example", kind = "parent" }, etag: "*");
        using var pages = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Ottilie Crane"));
        async Task<string> AllAsync()
        {
            var all = new System.Text.StringBuilder();
            foreach (var url in new[] { "/api/v1/attention", "/api/v1/papers", "/api/v1/messages", "/api/v1/contacts", "/api/v1/pupils" })
            {
                all.AppendLine(await school.Office.GetStringAsync(url));
            }

            foreach (var url in new[] { "/diary/attention", "/papers", "/messages", "/pupils/contacts", "/pupils" })
            {
                all.AppendLine(await (await pages.GetAsync(url)).TextAsync());
            }

            foreach (var letter in (await school.Office.GetJsonAsync("/api/v1/messages")).GetProperty("items").EnumerateArray().Where(m => m.Word("toName") == "Tamsin Oakley"))
            {
                all.AppendLine(await school.Office.GetStringAsync($"/api/v1/messages/{letter.Id()}"));
                all.AppendLine(await (await pages.GetAsync($"/messages/{letter.Id()}")).TextAsync());
            }

            return all.ToString();
        }

        string[] theirs = ["theory certificate", "2024-03-11", "driving licence", "bram.moved@", Phone, "pupil1@", "pupil2@"];
        var before = await AllAsync();
        Assert.Contains("theory certificate counts until", before, StringComparison.Ordinal);
        Assert.Contains("bram.moved@", before, StringComparison.Ordinal);
        await SetAsync(school, true);
        var after = await AllAsync();
        Assert.Equal([], theirs.Where(word => after.Contains(word, StringComparison.Ordinal)));
        Assert.Contains("Tamsin Oakley: their papers are to be looked at. Ask who teaches them.", after, StringComparison.Ordinal);
        Assert.Contains("Tamsin Oakley, lesson on Tuesday 3 March, 10:00: something is still to be seen before driving. Ask who teaches them.", after, StringComparison.Ordinal);
        await OpenAsync(school.Office, school.PupilId);
        Assert.Contains("bram.moved@", await school.Office.GetStringAsync("/api/v1/contacts"), StringComparison.Ordinal);
        Assert.DoesNotContain("2024-03-11", await school.Office.GetStringAsync("/api/v1/papers"), StringComparison.Ordinal);
        await SetAsync(school, false);
        Assert.Contains("theory certificate counts until", await AllAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_schools_own_acts_open_nothing()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var other = await school.Host.Data.InstructorAsync("Piers Anstey");
        await SetAsync(school, true);
        using var added = await school.Office.SendJsonAsync(Post, "/api/v1/pupils", new { name = "Wren Castellan", phone = "01632 960777", usualInstructorId = school.InstructorId });
        var wren = (await added.JsonAsync(HttpStatusCode.Created)).Id();
        Assert.Equal("reason_needed", await (await school.Office.GetAsync($"/api/v1/pupils/{wren}")).CodeAsync(HttpStatusCode.Forbidden));
        foreach (var act in new[] { "retire", "take-back" })
        {
            var told = await (await school.Office.SendJsonAsync(Post, $"/api/v1/pupils/{school.PupilId}/{act}")).JsonAsync();
            Assert.Equal(("Tamsin Oakley", "name", JsonValueKind.Null), (told.Word("name"), told.Word("sees"), told.GetProperty("phone").ValueKind));
        }

        using (var handed = await school.Office.SendJsonAsync(Post, $"/api/v1/pupils/{school.PupilId}/hand-over", new { instructorId = other.Id, from = "2026-03-03" }))
        {
            var proposal = (await handed.JsonAsync(HttpStatusCode.Created)).Id();
            Assert.Equal(HttpStatusCode.OK, (await school.Office.SendJsonAsync(Post, $"/api/v1/hand-overs/{proposal}/apply")).StatusCode);
        }

        Assert.Equal(other.Id, await school.Host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Id == school.PupilId).Select(p => p.UsualInstructorId).SingleAsync()));
        using var now = await school.Host.ApiAsAsync(await school.Host.Data.PersonAsync(other));
        Assert.Equal("everything", (await now.GetJsonAsync($"/api/v1/pupils/{school.PupilId}")).Word("sees"));
        Assert.Equal("reason_needed", await (await school.Office.GetAsync($"/api/v1/pupils/{school.PupilId}")).CodeAsync(HttpStatusCode.Forbidden));
    }

    [Fact]
    public async Task The_page_of_a_pupil_asks_the_office_why_and_then_shows_what_a_reason_opens()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await SetAsync(school, true);
        using var pages = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Ottilie Crane"));
        var asks = $"/pupils/{school.PupilId}/access";
        foreach (var page in new[] { $"/pupils/{school.PupilId}", $"/pupils/{school.PupilId}/change", $"/pupils/{school.PupilId}/places", $"/pupils/{school.PupilId}/beside", $"/pupils/{school.PupilId}/signs-in-already" })
        {
            using var wanted = await pages.GetAsync(page);
            Assert.StartsWith(asks, wanted.Headers.Location?.OriginalString ?? "", StringComparison.Ordinal);
        }

        var text = await (await pages.GetAsync(asks)).TextAsync();
        Assert.Contains("pupils belong to their instructor: Marigold Ashby", text, StringComparison.Ordinal);
        Assert.Contains("Let this pupil leave", text, StringComparison.Ordinal);
        Assert.DoesNotContain("01632", text, StringComparison.Ordinal);
        using (var left = await pages.PostFormAsync(asks, $"/pupils/{school.PupilId}/change?handler=Retire"))
        {
            Assert.Equal(HttpStatusCode.Redirect, left.StatusCode);
        }

        Assert.Contains("Take this pupil back", await (await pages.GetAsync(asks)).TextAsync(), StringComparison.Ordinal);
        await pages.PostFormAsync(asks, $"/pupils/{school.PupilId}/change?handler=TakeBack");
        await pages.PostFormAsync(asks, ("reason", Reason));
        var shown = await (await pages.GetAsync($"/pupils/{school.PupilId}")).TextAsync();
        Assert.Contains("01632", shown, StringComparison.Ordinal);
        Assert.DoesNotContain("4 May 2007", shown, StringComparison.Ordinal);
        var change = $"/pupils/{school.PupilId}/change";
        var form = await (await pages.GetAsync(change)).TextAsync();
        Assert.Contains("Input.Phone", form, StringComparison.Ordinal);
        Assert.DoesNotContain("Input.BirthDate", form, StringComparison.Ordinal);
        using var kept = await pages.PostFormAsync(
            change, $"{change}?handler=Contact", ("Version", "3"), ("Input.Email", "tamsin@larkfield.example"), ("Input.Phone", "01632 960123"),
            ("Input.PickUp.Label", "Mill Lane"), ("Input.PickUp.Position", "52.4, -1.2"));
        Assert.True(kept.StatusCode == HttpStatusCode.Redirect, await kept.TextAsync());
        var row = await school.Host.WithDbAsync(db => db.Set<Pupil>().AsNoTracking().SingleAsync(p => p.Id == school.PupilId));
        Assert.Equal(("+441632960123", "Tamsin Oakley", school.InstructorId), (row.Phone, row.Name, row.UsualInstructorId));
        Assert.Contains(Reason, await (await pages.GetAsync("/pupils/opened")).TextAsync(), StringComparison.Ordinal);
    }

    internal static Task<int> SetAsync(SmallSchool school, bool on) => school.Host.WithDbAsync(async db =>
    {
        (await db.Set<SchoolProfile>().SingleAsync()).PupilsBelongToInstructor = on;
        return await db.SaveChangesAsync();
    });

    internal static Task<HttpResponseMessage> AskAsync(HttpClient api, Guid pupil) => api.SendJsonAsync(Post, $"/api/v1/pupils/{pupil}/access", new { reason = Reason });

    internal static async Task<JsonElement> OpenAsync(HttpClient api, Guid pupil) => await (await AskAsync(api, pupil)).JsonAsync(HttpStatusCode.Created);

    private static Task<bool> ReadAsync(SmallSchool school) => school.Host.WithDbAsync(db => db.Set<SchoolProfile>().Select(s => s.PupilsBelongToInstructor).SingleAsync());

    private static async Task<HttpClient> OfficeAsync(SmallSchool school, OfficeParts parts) =>
        await school.Host.ApiAsAsync(await school.Host.Data.WearerAsync("Ottilie Crane", "ottilie@larkfield.example", parts));

    private static async Task<int> FoundAsync(HttpClient api, string url) => (await api.GetJsonAsync(url)).GetProperty("items").GetArrayLength();

    private static async Task<HttpResponseMessage> SendAsync(HttpClient api, string method, Guid pupil, string what, string body)
    {
        using var request = new HttpRequestMessage(Parse(method), $"/api/v1/pupils/{pupil}{what}");
        request.Headers.TryAddWithoutValidation("If-Match", "*");
        request.Content = body.Length == 0 ? null : new StringContent(body, System.Text.Encoding.UTF8, "application/json");
        return await api.SendAsync(request);
    }
}
