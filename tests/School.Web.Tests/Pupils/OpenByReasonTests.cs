using System.Net;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Modules.Records;
using School.Web.Platform.Access;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;
using static System.Net.Http.HttpMethod;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Pupils;

/// <summary>Who sees what of a pupil among the staff, and what a reason opens. The clock stands at Monday 2 March 2026, 08:00.</summary>
public sealed class OpenByReasonTests(TestPostgres postgres)
{
    private const string Reason = "Their mother called me about Thursday.";

    /// <summary>What a reason opens.</summary>
    public static TheoryData<string> Opened => new()
    {
        "", "/places", "/contacts", "/progress", "/readiness", "/practice", "/mock-tests",
    };

    /// <summary>What it never opens, as the reviewers tried it.</summary>
    public static TheoryData<string, string, string> Never => new()
    {
        { "GET", "/guarded", "" },
        { "PUT", "/guarded", """{"healthNotes":"Nothing."}""" },
        { "POST", "/eyesight-check", """{"on":"2026-03-02"}""" },
        { "GET", "/availability", "" },
        { "PUT", "/availability", """{"times":[]}""" },
        { "PUT", "/teaching", """{"need":"Roundabouts","notes":""}""" },
        { "GET", "/papers", "" },
        { "GET", "/eligibility", "" },
        { "PUT", "/papers", """{"licenceCheckedOn":"2026-02-02"}""" },
        { "POST", "/practice", """{"on":"2026-03-01","minutes":60,"supervisor":"Bram Oakley"}""" },
        { "POST", "/mock-tests", "{}" },
    };

    [Theory]
    [MemberData(nameof(Opened))]
    public async Task Contact_places_and_record_open_for_a_reason(string what)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        using var stranger = await StrangerAsync(school);
        var url = $"/api/v1/pupils/{school.PupilId}{what}";
        using (var refused = await stranger.GetAsync(url))
        {
            var problem = await refused.JsonAsync(HttpStatusCode.Forbidden);
            Assert.Equal("reason_needed", problem.Word("code"));
            Assert.Equal($"/pupils/{school.PupilId}/access", problem.Word("page"));
        }

        Assert.Equal(HttpStatusCode.OK, (await school.Instructor.GetAsync(url)).StatusCode);
        Assert.Equal(HttpStatusCode.OK, (await school.Office.GetAsync(url)).StatusCode);
        await OpenAsync(stranger, school.PupilId);
        Assert.Equal(HttpStatusCode.OK, (await stranger.GetAsync(url)).StatusCode);
    }

    [Theory]
    [MemberData(nameof(Never))]
    public async Task A_reason_never_opens_what_is_for_ones_own_pupils(string method, string what, string body)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        using var stranger = await StrangerAsync(school);
        await OpenAsync(stranger, school.PupilId);
        using var request = new HttpRequestMessage(Parse(method), $"/api/v1/pupils/{school.PupilId}{what}");
        request.Headers.TryAddWithoutValidation("If-Match", "*");
        request.Content = body.Length == 0 ? null : new StringContent(body, System.Text.Encoding.UTF8, "application/json");
        using var answer = await stranger.SendAsync(request);
        Assert.Equal("not_your_pupil", await answer.CodeAsync(HttpStatusCode.Forbidden));
    }

    [Fact]
    public async Task Where_a_reason_opens_a_pupil_their_lessons_are_said_to_be_elsewhere_and_never_said_to_be_none()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 5, 10));
        var person = await PersonAsync(school);
        using var api = await school.Host.ApiAsAsync(person);
        await OpenAsync(api, school.PupilId);
        using var browser = await school.Host.PagesAsAsync(person);
        var pupil = await (await browser.GetAsync($"/pupils/{school.PupilId}")).TextAsync();
        Assert.Contains("Their lessons are for whoever teaches them.", pupil, StringComparison.Ordinal);
        Assert.DoesNotContain("No lessons yet", pupil, StringComparison.Ordinal);
        var lessons = await (await browser.GetAsync($"/diary/lessons?pupil={school.PupilId}")).TextAsync();
        Assert.Contains("Their lessons are for whoever teaches them.", lessons, StringComparison.Ordinal);
        Assert.All(["Book a lesson", "Nothing yet", "No lessons booked"], words => Assert.DoesNotContain(words, lessons, StringComparison.Ordinal));
    }

    [Fact]
    public async Task Of_other_pupils_the_list_gives_the_name_and_finds_by_nothing_else()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        using var stranger = await StrangerAsync(school);
        var row = Assert.Single((await stranger.GetJsonAsync("/api/v1/pupils")).GetProperty("items").EnumerateArray());
        Assert.Equal(("Tamsin Oakley", "name"), (row.Word("name"), row.Word("sees")));
        Assert.All(
            row.EnumerateObject().Where(member => member.Name is not ("id" or "name" or "sees")),
            member => Assert.Equal(JsonValueKind.Null, member.Value.ValueKind));
        var phone = (await school.Office.GetJsonAsync($"/api/v1/pupils/{school.PupilId}")).Word("phone")!;
        Assert.NotEqual("", phone);
        var search = $"/api/v1/pupils?q={phone[^6..]}";
        Assert.Equal(0, (await stranger.GetJsonAsync(search)).GetProperty("items").GetArrayLength());
        Assert.Equal(1, (await school.Instructor.GetJsonAsync(search)).GetProperty("items").GetArrayLength());
        await OpenAsync(stranger, school.PupilId);
        var opened = Assert.Single((await stranger.GetJsonAsync(search)).GetProperty("items").EnumerateArray());
        Assert.Equal(("byReason", phone), (opened.Word("sees"), opened.Word("phone")));
        // Neither contact, places nor record.
        Assert.Equal(JsonValueKind.Null, opened.GetProperty("birthDate").ValueKind);
        Assert.Equal(JsonValueKind.Null, opened.GetProperty("mobilityAward").ValueKind);
    }

    [Fact]
    public async Task A_reason_ends_at_midnight_where_the_school_is_also_when_the_clocks_change()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var person = await PersonAsync(school);
        // The clocks go forward in the early morning of Sunday 29 March 2026 (Summer Time Act 1972): 23:59 on Sunday is 22:59 UTC.
        foreach (var (at, until) in new[] { (London(2026, 3, 28, 23, 59), London(2026, 3, 29, 0)), (London(2026, 3, 29, 23, 59), London(2026, 3, 30, 0)) })
        {
            school.Host.Clock.Reset(at);
            using var stranger = await school.Host.ApiAsAsync(person);
            var opened = await OpenAsync(stranger, school.PupilId);
            Assert.Equal(until, opened.Moment("until"));
            Assert.Equal(HttpStatusCode.OK, (await stranger.GetAsync($"/api/v1/pupils/{school.PupilId}")).StatusCode);
            school.Host.Clock.Reset(until);
            Assert.Equal("reason_needed", await (await stranger.GetAsync($"/api/v1/pupils/{school.PupilId}")).CodeAsync(HttpStatusCode.Forbidden));
        }
    }

    [Fact]
    public async Task Who_opens_fifty_pupils_is_refused_the_next_and_the_office_hears_of_it()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        using var stranger = await StrangerAsync(school);
        for (var n = 0; n < PupilAccess.MostADay; n++)
        {
            var pupil = await school.Host.Data.PupilAsync($"Pupil {n}", instructor: school.InstructorId);
            await OpenAsync(stranger, pupil.Id);
        }

        using var refused = await AskAsync(stranger, school.PupilId, Reason);
        Assert.Equal("too_many_by_reason", await refused.CodeAsync(HttpStatusCode.UnprocessableEntity));
        using var pages = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Ottilie Crane"));
        Assert.Contains("Piers Anstey opened 50 pupils of others in one day", await (await pages.GetAsync("/diary/attention")).TextAsync(), StringComparison.Ordinal);
        var first = await school.Office.GetJsonAsync("/api/v1/pupils/access");
        Assert.Equal(50, first.GetProperty("items").GetArrayLength());
        Assert.Contains(Reason, await (await pages.GetAsync("/pupils/opened")).TextAsync(), StringComparison.Ordinal);
        school.Host.Clock.Advance(Duration.FromDays(1));
        await OpenAsync(stranger, school.PupilId);
    }

    [Fact]
    public async Task A_reason_stands_in_the_audit_and_is_asked_for_in_words()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        using var stranger = await StrangerAsync(school);
        using (var empty = await AskAsync(stranger, school.PupilId, " "))
        {
            Assert.True((await empty.JsonAsync(HttpStatusCode.BadRequest)).GetProperty("errors").TryGetProperty("reason", out _));
        }

        using (var wordy = await AskAsync(stranger, school.PupilId, new string('a', PupilAccess.LongestReason + 1)))
        {
            Assert.Equal(HttpStatusCode.BadRequest, wordy.StatusCode);
        }

        Assert.Equal("not_found", await (await AskAsync(stranger, Guid.NewGuid(), Reason)).CodeAsync(HttpStatusCode.NotFound));
        Assert.Equal("reason_not_needed", await (await AskAsync(school.Instructor, school.PupilId, Reason)).CodeAsync(HttpStatusCode.UnprocessableEntity));
        await OpenAsync(stranger, school.PupilId);
        var line = await school.Host.WithDbAsync(db => db.Set<AuditEntry>().SingleAsync(a => a.What == "pupil.access"));
        Assert.Equal(("Piers Anstey", school.PupilId), (line.ByName, line.AboutId));
        Assert.Contains(Reason, line.Words, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_reason_serves_nobody_whose_hat_was_taken()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var person = await PersonAsync(school);
        using var stranger = await school.Host.ApiAsAsync(person);
        await OpenAsync(stranger, school.PupilId);
        var learns = await school.Host.Data.PupilAsync("Wren Castellan");
        await school.Host.WithDbAsync(async db =>
        {
            var row = await db.Set<Person>().SingleAsync(p => p.Id == person.Id);
            (row.InstructorId, row.PupilId) = (null, learns.Id);
            return await db.SaveChangesAsync();
        });
        using var without = await school.Host.ApiAsAsync(await school.Host.WithDbAsync(db => db.Set<Person>().AsNoTracking().SingleAsync(p => p.Id == person.Id)));
        Assert.Equal(HttpStatusCode.OK, (await without.GetAsync($"/api/v1/pupils/{learns.Id}")).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await without.GetAsync($"/api/v1/pupils/{school.PupilId}")).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await without.GetAsync($"/api/v1/pupils/{school.PupilId}/places")).StatusCode);
    }

    [Fact]
    public async Task Nobody_makes_a_pupil_their_own_by_booking_them()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var other = await school.Host.Data.InstructorAsync("Piers Anstey");
        using var stranger = await school.Host.ApiAsAsync(await school.Host.Data.PersonAsync(other));
        await OpenAsync(stranger, school.PupilId);
        using (var booked = await stranger.BookAsync(school.PupilId, other.Id, London(2026, 3, 3, 10)))
        {
            Assert.Equal("not_your_pupil", await booked.CodeAsync(HttpStatusCode.Forbidden));
        }

        using (var waits = await stranger.SendJsonAsync(Post, "/api/v1/waiting-list", new { pupilId = school.PupilId, @for = "anyLesson" }))
        {
            Assert.Equal("not_your_pupil", await waits.CodeAsync(HttpStatusCode.Forbidden));
        }

        using var slots = await stranger.GetAsync($"/api/v1/slots?pupilId={school.PupilId}&minutes=60&from=2026-03-03&to=2026-03-04");
        Assert.Equal("not_your_pupil", await slots.CodeAsync(HttpStatusCode.Forbidden));
        // Given by the office, it does.
        var given = await school.Office.BookedAsync(school.PupilId, other.Id, London(2026, 3, 3, 10));
        Assert.Equal(HttpStatusCode.OK, (await stranger.GetAsync($"/api/v1/lessons/{given.Id()}/brief")).StatusCode);
        Assert.Equal("everything", (await stranger.GetJsonAsync($"/api/v1/pupils/{school.PupilId}")).Word("sees"));
    }

    [Fact]
    public async Task The_brief_and_record_of_a_lesson_long_ago_follow_the_pupil()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var other = await school.Host.Data.InstructorAsync("Piers Anstey");
        var person = await school.Host.Data.PersonAsync(other);
        var lesson = await school.Office.BookedAsync(school.PupilId, other.Id, London(2026, 3, 3, 10));
        school.Host.Clock.Reset(London(2026, 3, 10, 23, 59));
        using (var near = await school.Host.ApiAsAsync(person))
        {
            Assert.Equal(HttpStatusCode.OK, (await near.GetAsync($"/api/v1/lessons/{lesson.Id()}/brief")).StatusCode);
            Assert.Equal(HttpStatusCode.OK, (await near.GetAsync($"/api/v1/lessons/{lesson.Id()}/record")).StatusCode);
        }

        school.Host.Clock.Reset(London(2026, 3, 11, 0));
        using var far = await school.Host.ApiAsAsync(person);
        Assert.Equal("reason_needed", await (await far.GetAsync($"/api/v1/lessons/{lesson.Id()}/brief")).CodeAsync(HttpStatusCode.Forbidden));
        Assert.Equal("reason_needed", await (await far.GetAsync($"/api/v1/lessons/{lesson.Id()}/record")).CodeAsync(HttpStatusCode.Forbidden));
        // What was taught in one's own lesson is written down all the same.
        Assert.Equal(HttpStatusCode.OK, (await far.RecordAsync(lesson.Id(), 60, "Good.")).StatusCode);
        using var pages = await school.Host.PagesAsAsync(person);
        Assert.DoesNotContain("01632", await (await pages.GetAsync($"/diary/lessons/{lesson.Id()}")).TextAsync(), StringComparison.Ordinal);
        Assert.DoesNotContain("01632", await (await pages.GetAsync("/diary/day?date=2026-03-03")).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_page_of_somebody_elses_pupil_asks_why_and_leads_back()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        using var stranger = await school.Host.PagesAsAsync(await PersonAsync(school));
        using var wanted = await stranger.GetAsync($"/syllabus/progress/{school.PupilId}");
        var form = wanted.RequestMessage!.RequestUri!.PathAndQuery;
        if (wanted.StatusCode == HttpStatusCode.Redirect)
        {
            form = wanted.Headers.Location!.OriginalString;
        }

        Assert.StartsWith($"/pupils/{school.PupilId}/access?to=", form, StringComparison.Ordinal);
        var text = await (await stranger.GetAsync(form)).TextAsync();
        Assert.Contains("Tamsin Oakley", text, StringComparison.Ordinal);
        Assert.DoesNotContain("01632", text, StringComparison.Ordinal);
        using var opened = await stranger.PostFormAsync(form, ("likely", AccessModel.Likely[0]));
        Assert.Equal(HttpStatusCode.OK, (await stranger.GetAsync($"/syllabus/progress/{school.PupilId}")).StatusCode);
        var page = await (await stranger.GetAsync($"/pupils/{school.PupilId}")).TextAsync();
        Assert.Contains("01632", page, StringComparison.Ordinal);
        Assert.DoesNotContain("Born", page, StringComparison.Ordinal);
        Assert.DoesNotContain("health notes</button>", page, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Who_is_alone_with_every_part_of_the_office_is_asked_nothing()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var owner = await school.Host.Data.InstructorAsync("Piers Anstey");
        using var api = await school.Host.ApiAsAsync(await school.Host.Data.WearerAsync("Piers Anstey", "piers@larkfield.example", OfficeParts.All, owner.Id));
        Assert.Equal("everything", (await api.GetJsonAsync($"/api/v1/pupils/{school.PupilId}")).Word("sees"));
        await api.BookedAsync(school.PupilId, owner.Id, London(2026, 3, 3, 10));
    }

    private static async Task<Person> PersonAsync(SmallSchool school) => await school.Host.Data.PersonAsync(await school.Host.Data.InstructorAsync("Piers Anstey"));

    private static async Task<HttpClient> StrangerAsync(SmallSchool school) => await school.Host.ApiAsAsync(await PersonAsync(school));

    private static Task<HttpResponseMessage> AskAsync(HttpClient api, Guid pupil, string reason) => api.SendJsonAsync(Post, $"/api/v1/pupils/{pupil}/access", new { reason });

    private static async Task<JsonElement> OpenAsync(HttpClient api, Guid pupil) => await (await AskAsync(api, pupil, Reason)).JsonAsync(HttpStatusCode.Created);
}
