using System.Net;
using School.Tests;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;
using static System.Net.Http.HttpMethod;

namespace School.Web.Tests.Syllabus;

/// <summary>A pupil sees a forecast once an instructor has shared it with a sentence, and no more once it is taken back.</summary>
public sealed class SharedForecastTests(TestPostgres postgres)
{
    private const string Sentence = "You are on a good way; the test in May is early, let us talk about July.";

    [Fact]
    public async Task Until_it_is_shared_the_pupil_finds_it_nowhere_and_the_staff_do()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var person = await school.Host.WithDbAsync(db => Task.FromResult(db.Set<Modules.People.Person>().Single(p => p.PupilId == school.PupilId)));
        using var pupil = await school.Host.PagesAsAsync(person);
        Assert.Equal(HttpStatusCode.NotFound, (await school.Pupil.GetAsync(Url(school))).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await school.Pupil.GetAsync($"{Url(school)}/shared")).StatusCode);
        var hidden = await (await pupil.GetAsync($"/syllabus/readiness/{school.PupilId}")).TextAsync();
        Assert.Contains("Not shared yet", hidden, StringComparison.Ordinal);
        Assert.DoesNotContain("of lessons to go", hidden, StringComparison.Ordinal);
        Assert.DoesNotContain("/syllabus/readiness/", await (await pupil.GetAsync("/syllabus/progress")).TextAsync(), StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.OK, (await school.Instructor.GetAsync(Url(school))).StatusCode);

        await (await ShareAsync(school.Instructor, school, Sentence)).JsonAsync();
        var read = await school.Pupil.GetJsonAsync(Url(school));
        Assert.Equal((Sentence, "Marigold Ashby"), (read.GetProperty("shared").Word("sentence"), read.GetProperty("shared").Word("by")));
        var shown = await (await pupil.GetAsync($"/syllabus/readiness/{school.PupilId}")).TextAsync();
        Assert.Contains(Sentence, shown, StringComparison.Ordinal);
        Assert.Contains("of lessons to go", shown, StringComparison.Ordinal);
        Assert.Contains("/syllabus/readiness/", await (await pupil.GetAsync("/syllabus/progress")).TextAsync(), StringComparison.Ordinal);

        Assert.Equal(HttpStatusCode.NoContent, (await school.Instructor.DeleteAsync($"{Url(school)}/shared")).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await school.Pupil.GetAsync(Url(school))).StatusCode);
        Assert.DoesNotContain(Sentence, await (await pupil.GetAsync($"/syllabus/readiness/{school.PupilId}")).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Only_staff_share_and_only_with_a_sentence_and_nobody_writes_over_another_unseen()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        Assert.Equal(HttpStatusCode.Forbidden, (await ShareAsync(school.Pupil, school, Sentence)).StatusCode);
        Assert.Equal(HttpStatusCode.Forbidden, (await school.Pupil.DeleteAsync($"{Url(school)}/shared")).StatusCode);
        foreach (var wrong in new[] { "", "   ", new string('x', 501) })
        {
            Assert.Equal(["sentence"], await (await ShareAsync(school.Office, school, wrong)).WrongFieldsAsync());
        }

        Assert.Equal(HttpStatusCode.PreconditionRequired, (await school.Office.SendJsonAsync(Put, $"{Url(school)}/shared", new { sentence = Sentence })).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await school.Office.GetAsync($"{Url(school)}/shared")).StatusCode);
        await (await ShareAsync(school.Office, school, Sentence)).JsonAsync();
        var tag = (await school.Office.GetAsync($"{Url(school)}/shared")).Headers.ETag!.Tag;
        await (await ShareAsync(school.Instructor, school, "Better: June.", tag)).JsonAsync();
        Assert.Equal("stale", await (await ShareAsync(school.Office, school, "May after all.", tag)).CodeAsync(HttpStatusCode.PreconditionFailed));
        Assert.Equal("Better: June.", (await school.Pupil.GetJsonAsync(Url(school))).GetProperty("shared").Word("sentence"));
        Assert.Equal(HttpStatusCode.NotFound, (await ShareAsync(school.Office, school, Sentence, pupil: Guid.NewGuid())).StatusCode);
    }

    [Fact]
    public async Task It_is_shared_and_taken_back_on_the_page()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var teaches = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync(instructor: teaches.Id);
        using var pages = await host.PagesAsAsync(await host.Data.PersonAsync(teaches));
        var url = $"/syllabus/readiness/{pupil.Id}";
        Assert.Contains("The pupil does not see this", await (await pages.GetAsync(url)).TextAsync(), StringComparison.Ordinal);
        using var empty = await pages.PostFormAsync(url, $"{url}?handler=Share", ("Sentence", ""));
        Assert.Contains("Write a sentence to the pupil", await empty.TextAsync(), StringComparison.Ordinal);
        using var shared = await pages.PostFormAsync(url, $"{url}?handler=Share", ("Sentence", Sentence));
        Assert.Equal(HttpStatusCode.Redirect, shared.StatusCode);
        using var own = await host.ApiAsAsync(await host.Data.PersonAsync(pupil));
        Assert.Equal(HttpStatusCode.OK, (await own.GetAsync($"/api/v1/pupils/{pupil.Id}/readiness")).StatusCode);
        using var back = await pages.PostFormAsync(url, $"{url}?handler=Withdraw");
        Assert.Equal(HttpStatusCode.Redirect, back.StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await own.GetAsync($"/api/v1/pupils/{pupil.Id}/readiness")).StatusCode);
    }

    [Fact]
    public async Task What_was_shared_or_taken_back_since_the_page_was_opened_is_not_written_over()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        Assert.Equal("stale", await (await ShareAsync(school.Office, school, Sentence, "\"3\"")).CodeAsync(HttpStatusCode.PreconditionFailed));
        Assert.Equal(HttpStatusCode.NotFound, (await school.Office.GetAsync($"{Url(school)}/shared")).StatusCode);

        using var pages = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync());
        var url = $"/syllabus/readiness/{school.PupilId}";
        await (await ShareAsync(school.Instructor, school, Sentence)).JsonAsync();
        using var late = await pages.PostFormAsync(url, $"{url}?handler=Share", ("Sentence", "May, I think."), ("Version", ""));
        var text = await late.TextAsync();
        Assert.Contains("Somebody changed this after you opened it", text, StringComparison.Ordinal);
        Assert.Contains("May, I think.", text, StringComparison.Ordinal);
        Assert.Equal(Sentence, (await school.Office.GetJsonAsync($"{Url(school)}/shared")).Word("sentence"));

        var version = (await school.Office.GetAsync($"{Url(school)}/shared")).Headers.ETag!.Tag.Trim('"');
        Assert.Matches($"name=\"Version\"[^>]*value=\"{version}\"", text);
        using var seen = await pages.PostFormAsync(url, $"{url}?handler=Share", ("Sentence", "May, I think."), ("Version", version));
        Assert.Equal(HttpStatusCode.Redirect, seen.StatusCode);
    }

    private static string Url(SmallSchool school) => $"/api/v1/pupils/{school.PupilId}/readiness";

    private static Task<HttpResponseMessage> ShareAsync(HttpClient api, SmallSchool school, string sentence, string etag = "*", Guid? pupil = null) =>
        api.SendJsonAsync(Put, $"/api/v1/pupils/{pupil ?? school.PupilId}/readiness/shared", new { sentence }, etag: etag);
}
