using System.Net;
using School.Tests;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Platform.Access;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;
using static System.Net.Http.HttpMethod;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Pupils;

/// <summary>Whose pupils are whose: what is kept of a pupil is for who teaches them. The clock stands at Monday 2 March 2026, 08:00.</summary>
public sealed class OwnPupilsTests(TestPostgres postgres)
{
    public static TheoryData<string, string, string> Kept => new()
    {
        { "GET", "guarded", "" },
        { "PUT", "guarded", """{"healthNotes":"Nothing."}""" },
        { "POST", "eyesight-check", """{"on":"2026-03-02"}""" },
        { "PUT", "availability", """{"times":[]}""" },
        { "PUT", "teaching", """{"need":"Roundabouts","notes":""}""" },
        { "PUT", "papers", """{"licenceCheckedOn":"2026-02-02"}""" },
        { "POST", "practice", """{"on":"2026-03-01","minutes":60,"supervisor":"Bram Oakley"}""" },
        { "POST", "mock-tests", "{}" },
    };

    [Theory]
    [MemberData(nameof(Kept))]
    public async Task What_is_kept_of_a_pupil_is_not_for_an_instructor_who_never_taught_them(string method, string what, string body)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        using var stranger = await school.Host.ApiAsAsync(await school.Host.Data.PersonAsync(await school.Host.Data.InstructorAsync("Piers Anstey")));
        Assert.Equal((HttpStatusCode.Forbidden, "not_your_pupil"), await AskAsync(stranger, school.PupilId, method, what, body));
        // Who usually teaches them, the office, and where it is theirs to say the pupil too, are not refused for that.
        Assert.NotEqual(HttpStatusCode.Forbidden, (await AskAsync(school.Instructor, school.PupilId, method, what, body)).Status);
        Assert.NotEqual(HttpStatusCode.Forbidden, (await AskAsync(school.Office, school.PupilId, method, what, body)).Status);
    }

    [Fact]
    public async Task A_lesson_within_a_week_either_way_makes_a_pupil_ones_own_and_one_called_off_does_not()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var other = await school.Host.Data.InstructorAsync("Piers Anstey");
        using var covers = await school.Host.ApiAsAsync(await school.Host.Data.PersonAsync(other));
        Task<(HttpStatusCode Status, string? Code)> CheckAsync() => AskAsync(covers, school.PupilId, "POST", "eyesight-check", """{"on":"2026-03-02"}""");

        var far = await school.Office.BookedAsync(school.PupilId, other.Id, London(2026, 3, 10, 10));
        Assert.Equal(HttpStatusCode.Forbidden, (await CheckAsync()).Status);
        await school.Office.CancelAsync(far.Id());
        var near = await school.Office.BookedAsync(school.PupilId, other.Id, London(2026, 3, 9, 10));
        Assert.Equal(HttpStatusCode.OK, (await CheckAsync()).Status);
        await school.Office.CancelAsync(near.Id());
        Assert.Equal(HttpStatusCode.Forbidden, (await CheckAsync()).Status);
    }

    [Fact]
    public async Task Who_teaches_and_is_of_the_office_without_what_is_confidential_opens_only_their_own_pupils_notes()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var other = await school.Host.Data.InstructorAsync("Piers Anstey");
        var owner = await school.Host.Data.PersonAsync(other);
        await school.Host.WithDbAsync(async db =>
        {
            (await db.Set<Person>().FindAsync(owner.Id))!.Parts = OfficeParts.Diary | OfficeParts.People;
            return await db.SaveChangesAsync();
        });
        using var api = await school.Host.ApiAsAsync(owner);
        var own = await school.Host.Data.PupilAsync("Wren Castellan", instructor: other.Id);
        Assert.Equal((HttpStatusCode.Forbidden, "not_your_pupil"), await AskAsync(api, school.PupilId, "GET", "guarded", ""));
        Assert.Equal(HttpStatusCode.OK, (await AskAsync(api, own.Id, "GET", "guarded", "")).Status);
        Assert.Equal(HttpStatusCode.OK, (await AskAsync(api, school.PupilId, "POST", "eyesight-check", """{"on":"2026-03-02"}""")).Status);
        // Nor by a lesson with themselves that nobody but they arranged; one that was given to them opens them.
        await api.BookedAsync(school.PupilId, other.Id, London(2026, 3, 3, 10));
        Assert.Equal((HttpStatusCode.Forbidden, "not_your_pupil"), await AskAsync(api, school.PupilId, "GET", "guarded", ""));
        Assert.Equal((HttpStatusCode.Forbidden, "not_your_pupil"), await AskAsync(api, school.PupilId, "PUT", "guarded", """{"healthNotes":"None."}"""));
        await school.Office.BookedAsync(school.PupilId, other.Id, London(2026, 3, 3, 14));
        Assert.Equal(HttpStatusCode.OK, (await AskAsync(api, school.PupilId, "GET", "guarded", "")).Status);
    }

    [Fact]
    public async Task Who_learns_here_and_looks_after_people_opens_their_own_notes_alone()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var own = await school.Host.Data.PupilAsync("Wren Castellan");
        var person = await school.Host.Data.PersonAsync(own);
        await school.Host.WithDbAsync(async db =>
        {
            (await db.Set<Person>().FindAsync(person.Id))!.Parts = OfficeParts.People;
            return await db.SaveChangesAsync();
        });
        using var api = await school.Host.ApiAsAsync(person);
        Assert.Equal((HttpStatusCode.Forbidden, "not_your_pupil"), await AskAsync(api, school.PupilId, "GET", "guarded", ""));
        Assert.Equal(HttpStatusCode.OK, (await AskAsync(api, own.Id, "GET", "guarded", "")).Status);
    }

    [Fact]
    public async Task The_page_of_the_notes_says_whose_they_are()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        using var stranger = await school.Host.PagesAsAsync(await school.Host.Data.PersonAsync(await school.Host.Data.InstructorAsync("Piers Anstey")));
        using var answer = await stranger.PostFormAsync($"/pupils/{school.PupilId}/access", $"/pupils/{school.PupilId}/guarded?handler=Show");
        Assert.Contains("usually learns with somebody else", await answer.TextAsync(), StringComparison.Ordinal);
    }

    private static async Task<(HttpStatusCode Status, string? Code)> AskAsync(HttpClient api, Guid pupil, string method, string what, string body)
    {
        using var request = new HttpRequestMessage(Parse(method), $"/api/v1/pupils/{pupil}/{what}");
        request.Headers.TryAddWithoutValidation("If-Match", "*");
        if (body.Length > 0)
        {
            request.Content = new StringContent(body, System.Text.Encoding.UTF8, "application/json");
        }

        using var answer = await api.SendAsync(request);
        var text = await answer.Content.ReadAsStringAsync();
        return (answer.StatusCode, answer.IsSuccessStatusCode || text.Length == 0 ? null : System.Text.Json.JsonDocument.Parse(text).RootElement.GetProperty("code").GetString());
    }
}
