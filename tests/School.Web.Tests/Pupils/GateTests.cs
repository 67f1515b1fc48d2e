using System.Net;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.People;
using School.Web.Modules.Syllabus.Readiness;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;
using static System.Net.Http.HttpMethod;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Pupils;

/// <summary>What is looked at at the gate of a pupil's pages is what is answered, however the request names it. The clock stands at Monday 2 March 2026, 08:00.</summary>
public sealed class GateTests(TestPostgres postgres)
{
    /// <summary>Addresses of pages about a pupil, and the field that the page binds.</summary>
    public static TheoryData<string, string> Pages => new()
    {
        { "/pupils/{0}", "Id" }, { "/pupils/{0}/places", "Id" }, { "/pupils/{0}/teaching", "Id" }, { "/pupils/{0}/papers", "Id" }, { "/pupils/{0}/availability", "Id" },
        { "/pupils/{0}/beside", "Id" }, { "/syllabus/progress/{0}", "pupilId" }, { "/syllabus/progress/{0}/record", "pupilId" }, { "/syllabus/progress/{0}/practice", "pupilId" },
        { "/syllabus/progress/{0}/export.csv", "pupilId" }, { "/syllabus/progress/{0}/export.json", "pupilId" }, { "/syllabus/readiness/{0}", "id" },
        { "/diary/book?pupil={0}", "Pupil" }, { "/diary/weekly?pupil={0}", "Pupil" }, { "/diary/courses?pupil={0}", "Pupil" }, { "/diary/test-days/new?pupil={0}", "Pupil" },
        { "/syllabus/mocks?pupil={0}", "Pupil" }, { "/syllabus/mocks/new?pupil={0}", "Pupil" },
    };

    [Theory]
    [MemberData(nameof(Pages))]
    public async Task A_form_cannot_name_another_pupil_than_the_address(string page, string field)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        using var marigold = await school.Host.PagesAsAsync(await OwnInstructorAsync(school));
        var other = await OthersPupilAsync(school);
        var own = string.Format(null, page, school.PupilId);
        // Read with a form along, which needs no token.
        using var read = new HttpRequestMessage(Get, own) { Content = new FormUrlEncodedContent([KeyValuePair.Create(field, $"{other}")]) };
        using var answer = await marigold.SendAsync(read);
        Assert.Equal(HttpStatusCode.BadRequest, answer.StatusCode);
        Assert.DoesNotContain("Wren Castellan", await answer.TextAsync(), StringComparison.Ordinal);
        // Written with the token of a form that is theirs.
        using var written = await marigold.PostFormAsync("/people/account", own, (field, $"{other}"));
        Assert.True(written.StatusCode is HttpStatusCode.NotFound or HttpStatusCode.MethodNotAllowed, $"{written.StatusCode}");
        // Behind the question mark as well as in the path.
        using var doubled = await marigold.GetAsync($"{own}{(own.Contains('?', StringComparison.Ordinal) ? '&' : '?')}{field}={other}");
        Assert.Equal(HttpStatusCode.NotFound, doubled.StatusCode);
        // The address alone is answered as before.
        Assert.NotEqual(HttpStatusCode.BadRequest, (await marigold.GetAsync(own)).StatusCode);
    }

    [Fact]
    public async Task A_forecast_is_shared_by_whoever_teaches_and_by_nobody_else()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var other = await OthersPupilAsync(school);
        using var marigold = await school.Host.PagesAsAsync(await OwnInstructorAsync(school));
        await marigold.PostFormAsync("/people/account", $"/syllabus/readiness/{school.PupilId}?handler=share", ("id", $"{other}"), ("Sentence", "Shared by a stranger."));
        await school.Instructor.SendJsonAsync(Post, $"/api/v1/pupils/{other}/access", new { reason = "Their mother called me." });
        var url = $"/api/v1/pupils/{other}/readiness/shared";
        Assert.Equal("not_your_pupil", await (await school.Instructor.SendJsonAsync(Put, url, new { sentence = "By reason." }, etag: "*")).CodeAsync(HttpStatusCode.Forbidden));
        Assert.Equal("not_your_pupil", await (await school.Instructor.SendJsonAsync(Delete, url)).CodeAsync(HttpStatusCode.Forbidden));
        Assert.Equal(0, await school.Host.WithDbAsync(db => db.Set<SharedForecast>().CountAsync()));
    }

    [Theory]
    [InlineData("pupilId=&pupilId={0}")]
    [InlineData("pupilId={1}&pupilId={0}")]
    [InlineData("pupilId={0}&pupilId=")]
    [InlineData("pupilId={0}")]
    public async Task Free_times_are_found_for_no_pupil_of_somebody_else(string query)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var other = await OthersPupilAsync(school);
        using var answer = await school.Instructor.GetAsync($"/api/v1/slots?{string.Format(null, query, other, school.PupilId)}&from=2026-03-03&to=2026-03-05");
        Assert.True(answer.StatusCode is HttpStatusCode.Forbidden or HttpStatusCode.BadRequest, $"{answer.StatusCode}");
        Assert.DoesNotContain("start", await answer.TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_lessons_pages_show_no_sheet_to_who_only_posts_to_them()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var lesson = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 3, 10))).Id();
        await school.Host.WithDbAsync(db => db.Database.ExecuteSqlAsync($"UPDATE pupils.pupils SET usual_instructor_id = NULL, name = 'Tamsin Oakley' WHERE id = {school.PupilId}"));
        school.Host.Clock.Advance(Duration.FromDays(12));
        using var marigold = await school.Host.PagesAsAsync(await OwnInstructorAsync(school));
        foreach (var page in new[] { "next", "record" })
        {
            using var read = await marigold.GetAsync($"/syllabus/lessons/{lesson}/{page}");
            Assert.Equal(HttpStatusCode.Redirect, read.StatusCode);
            using var posted = await marigold.PostFormAsync("/people/account", $"/syllabus/lessons/{lesson}/{page}", ("Input.MinutesTaught", "x"));
            Assert.NotEqual(HttpStatusCode.OK, posted.StatusCode);
        }
    }

    [Fact]
    public async Task How_often_somebody_elses_pupil_was_changed_cannot_be_guessed()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var other = await OthersPupilAsync(school);
        foreach (var (what, body) in new (string, object)[] { ("teaching", new { need = "Roundabouts", notes = "" }), ("papers", new { licenceCheckedOn = "2026-02-02" }), ("guarded", new { healthNotes = "" }) })
        {
            foreach (var tag in new[] { "\"1\"", "\"2\"", "\"7\"" })
            {
                using var answer = await school.Instructor.SendJsonAsync(Put, $"/api/v1/pupils/{other}/{what}", body, etag: tag);
                Assert.Equal("not_your_pupil", await answer.CodeAsync(HttpStatusCode.Forbidden));
            }
        }
    }

    [Fact]
    public async Task A_lesson_that_was_given_keeps_its_time_and_loses_the_door_once_the_pupil_is_somebody_elses()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var to = await school.Host.Data.InstructorAsync("Piers Anstey");
        var lesson = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 3, 10))).Id();
        const string Door = "7 Quarry Rise, Larkfield";
        await school.Host.WithDbAsync(db => db.Database.ExecuteSqlAsync($"UPDATE diary.lessons SET pick_up_address = {Door} WHERE id = {lesson}"));
        var plan = await (await school.Office.SendJsonAsync(Post, $"/api/v1/pupils/{school.PupilId}/hand-over", new { instructorId = to.Id, from = "2026-03-04" })).JsonAsync(HttpStatusCode.Created);
        await (await school.Office.SendJsonAsync(Post, $"/api/v1/hand-overs/{plan.Id()}/apply")).JsonAsync();
        string[] where = [$"/api/v1/lessons/{lesson}", $"/api/v1/lessons?from=2026-03-03&to=2026-03-03", $"/api/v1/instructors/{school.InstructorId}/day/2026-03-03", $"/diary/lessons/{lesson}"];
        // Within a week it is their own diary still.
        school.Host.Clock.Reset(London(2026, 3, 9, 8));
        using var pages = await school.Host.PagesAsAsync(await OwnInstructorAsync(school));
        foreach (var url in where)
        {
            Assert.Contains(Door, await (await (url.StartsWith("/api", StringComparison.Ordinal) ? school.Instructor : pages).GetAsync(url)).TextAsync(), StringComparison.Ordinal);
        }

        school.Host.Clock.Reset(London(2026, 3, 12, 8));
        using var later = await school.Host.PagesAsAsync(await OwnInstructorAsync(school));
        foreach (var url in where)
        {
            using var answer = await (url.StartsWith("/api", StringComparison.Ordinal) ? school.Instructor : later).GetAsync(url);
            Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
            var text = await answer.TextAsync();
            Assert.DoesNotContain(Door, text, StringComparison.Ordinal);
            Assert.Contains(url.StartsWith("/api", StringComparison.Ordinal) ? $"{lesson}" : "Tamsin Oakley", text, StringComparison.Ordinal);
        }

        Assert.Contains(Door, (await school.Office.GetJsonAsync($"/api/v1/lessons/{lesson}")).ToString(), StringComparison.Ordinal);
    }

    private static Task<Person> OwnInstructorAsync(SmallSchool school) => school.Host.WithDbAsync(db => db.Set<Person>().SingleAsync(p => p.InstructorId == school.InstructorId));

    private static async Task<Guid> OthersPupilAsync(SmallSchool school) =>
        (await school.Host.Data.PupilAsync("Wren Castellan", instructor: (await school.Host.Data.InstructorAsync("Bram Holt")).Id)).Id;
}
