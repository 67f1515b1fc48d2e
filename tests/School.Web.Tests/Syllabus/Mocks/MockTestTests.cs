using System.Net;
using System.Net.Http.Json;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.Diary;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Pupils;
using School.Web.Modules.Syllabus.Mocks;
using School.Web.Platform.Database;
using School.Web.Tests.Host;

namespace School.Web.Tests.Syllabus.Mocks;

/// <summary>Mock tests over the API. The clock stands at Monday 2 March 2026, 08:00.</summary>
public sealed class MockTestTests(TestPostgres postgres)
{
    // The published rule, readytopass.campaign.gov.uk: at most 15 driving faults, none serious or dangerous.
    [Theory]
    [InlineData(15, 0, 0, true)]
    [InlineData(16, 0, 0, false)]
    [InlineData(0, 1, 0, false)]
    [InlineData(0, 0, 1, false)]
    public async Task A_mock_test_is_counted_by_the_published_rule(int driving, int serious, int dangerous, bool passed)
    {
        await using var school = await SchoolAsync();
        var faults = Faults(driving, "driving").Concat(Faults(serious, "serious")).Concat(Faults(dangerous, "dangerous"));
        var mock = await (await school.Instructor.PostAsJsonAsync(school.Path, new { faults, finished = true })).JsonAsync();
        Assert.Equal(
            (passed, driving, serious, dangerous),
            (mock.GetProperty("passed").GetBoolean(), Number(mock, "driving"), Number(mock, "serious"), Number(mock, "dangerous")));
    }

    // One or both wrong make one driving fault in total (readytopass.campaign.gov.uk); there are two questions.
    [Fact]
    public async Task Both_safety_questions_wrong_cost_one_and_there_is_no_third()
    {
        await using var school = await SchoolAsync();
        var mock = await (await school.Instructor.PostAsJsonAsync(school.Path, new { faults = Faults(2, "driving", "7") })).JsonAsync();
        Assert.Equal((1, 2), (Number(mock, "driving"), mock.GetProperty("faults").GetArrayLength()));
        Assert.Equal(["faults"], await (await school.Instructor.PostAsJsonAsync(school.Path, new { faults = Faults(3, "driving", "7") })).WrongFieldsAsync());
    }

    // gov.uk, guidance for driving examiners (DT1), chapter 1: who cannot read the number plate has failed, before driving.
    [Fact]
    public async Task Eyesight_is_a_fail_and_never_a_driving_fault()
    {
        await using var school = await SchoolAsync();
        var mock = await (await school.Instructor.PostAsJsonAsync(school.Path, new { faults = Faults(1, "serious", "1a"), finished = true })).JsonAsync();
        Assert.Equal((false, 0, 0, 0), (mock.GetProperty("passed").GetBoolean(), Number(mock, "driving"), Number(mock, "serious"), Number(mock, "dangerous")));
        Assert.Equal(["faults"], await (await school.Instructor.PostAsJsonAsync(school.Path, new { faults = Faults(1, "driving", "1a") })).WrongFieldsAsync());
    }

    [Fact]
    public async Task What_cannot_be_is_refused_and_nothing_is_kept()
    {
        await using var school = await SchoolAsync();
        async Task WrongAsync(string field, object body) =>
            Assert.Equal([field], await (await school.Instructor.PostAsJsonAsync(school.Path, body)).WrongFieldsAsync());

        await WrongAsync("faults", new { faults = Faults(1, "driving", "28") });
        await WrongAsync("faults", new { faults = Faults(MockTest.MostFaults + 1, "driving") });
        await WrongAsync("faults", new { faults = new[] { new { heading = "18", kind = "driving", note = new string('n', MockTest.LongestFaultNote + 1) } } });
        await WrongAsync("faults[0].kind", new { faults = Faults(1, "silly") });
        await WrongAsync("on", new { on = "2026-03-03" });
        await WrongAsync("on", new { on = "2016-03-03" });
        await WrongAsync("etaVerbal", new { etaVerbal = -1 });
        await WrongAsync("lessonId", new { lessonId = RowId.New() });
        Assert.Equal(HttpStatusCode.NotFound, (await school.Instructor.PostAsJsonAsync($"/api/v1/pupils/{RowId.New()}/mock-tests", new { })).StatusCode);
        Assert.Equal(HttpStatusCode.Forbidden, (await school.Own.PostAsJsonAsync(school.Path, new { })).StatusCode);
        Assert.Equal(0, await school.Host.WithDbAsync(db => db.Set<MockTest>().CountAsync()));
    }

    [Fact]
    public async Task A_mock_test_in_a_lesson_takes_its_day_and_only_lessons_of_the_pupil_are_taken()
    {
        await using var school = await SchoolAsync();
        var lesson = await LessonAsync(school, school.Pupil);
        var others = await LessonAsync(school, await school.Host.Data.PupilAsync("Idris Vale"));
        var mock = await (await school.Instructor.PostAsJsonAsync(school.Path, new { lessonId = lesson })).JsonAsync();
        Assert.Equal("2026-02-27", mock.GetProperty("on").GetString());
        Assert.Equal(["lessonId"], await (await school.Instructor.PostAsJsonAsync(school.Path, new { lessonId = others })).WrongFieldsAsync());
    }

    [Fact]
    public async Task What_is_put_right_after_the_finish_goes_to_the_history_and_a_stale_copy_is_refused()
    {
        await using var school = await SchoolAsync();
        var made = await school.Instructor.PostAsJsonAsync(school.Path, new { faults = Faults(2, "driving"), etaVerbal = 1, finished = true });
        var url = made.Headers.Location!.ToString();
        var etag = made.Headers.ETag!.ToString();
        object Right() => new { faults = Faults(1, "driving").Concat(Faults(1, "serious", "21-observation")), etaVerbal = 1, finished = true };
        Assert.Equal(HttpStatusCode.PreconditionRequired, (await school.Instructor.SendAsync(HttpMethod.Put, url, Right())).StatusCode);
        var put = await school.Instructor.SendAsync(HttpMethod.Put, url, Right(), ("If-Match", etag));
        Assert.Equal((1, 1, false), await MarksAsync(put));
        Assert.Equal(HttpStatusCode.PreconditionFailed, (await school.Instructor.SendAsync(HttpMethod.Put, url, Right(), ("If-Match", etag))).StatusCode);
        Assert.Equal(["finished"], await (await school.Instructor.SendAsync(HttpMethod.Put, url, new { finished = false }, ("If-Match", "*"))).WrongFieldsAsync());
        var line = Assert.Single(await school.Host.WithDbAsync(db => db.Set<MockTestChange>().ToListAsync()));
        Assert.Equal("Removed Use of speed, driving fault; added Junctions: observation, serious fault.", line.Words);
        Assert.Equal("Marigold Ashby", line.ByName);
        await Assert.ThrowsAnyAsync<Exception>(() => school.Host.WithDbAsync(db => db.Set<MockTestChange>().ExecuteDeleteAsync()));
    }

    [Fact]
    public async Task Sent_twice_with_one_key_there_is_one_mock_test()
    {
        await using var school = await SchoolAsync();
        for (var n = 0; n < 2; n++)
        {
            var sent = await school.Instructor.SendAsync(HttpMethod.Post, school.Path, new { finished = true }, ("Idempotency-Key", "mock"));
            Assert.Equal(HttpStatusCode.Created, sent.StatusCode);
        }

        Assert.Equal(1, await school.Host.WithDbAsync(db => db.Set<MockTest>().CountAsync()));
    }

    [Fact]
    public async Task A_pupil_reads_their_own_finished_ones_and_nobody_elses()
    {
        await using var school = await SchoolAsync();
        var open = (await school.Instructor.PostAsJsonAsync(school.Path, new { })).Headers.Location!;
        await school.Instructor.PostAsJsonAsync(school.Path, new { note = "Good mirrors.", finished = true });
        var list = (await (await school.Own.GetAsync(school.Path)).JsonAsync()).GetProperty("items");
        Assert.Equal("Good mirrors.", Assert.Single(list.EnumerateArray()).GetProperty("note").GetString());
        Assert.Equal(HttpStatusCode.NotFound, (await school.Own.GetAsync(open)).StatusCode);
        using var stranger = await school.Host.ApiAsAsync(await school.Host.Data.PersonAsync(await school.Host.Data.PupilAsync("Bryony Vale")));
        Assert.Equal(HttpStatusCode.NotFound, (await stranger.GetAsync(school.Path)).StatusCode);
        Assert.Equal(2, (await (await school.Instructor.GetAsync(school.Path)).JsonAsync()).GetProperty("items").GetArrayLength());
    }

    private static async Task<(int Driving, int Serious, bool Passed)> MarksAsync(HttpResponseMessage answer)
    {
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        var mock = await answer.JsonAsync();
        return (Number(mock, "driving"), Number(mock, "serious"), mock.GetProperty("passed").GetBoolean());
    }

    private static int Number(JsonElement mock, string name) => mock.GetProperty(name).GetInt32();

    private static IEnumerable<object> Faults(int count, string kind, string heading = "18") => Enumerable.Repeat<object>(new { heading, kind }, count);

    private static async Task<Guid> LessonAsync(MockSchool school, Pupil pupil)
    {
        var start = school.Host.Clock.GetCurrentInstant() - Duration.FromDays(3) + Duration.FromHours(pupil == school.Pupil ? 0 : 2);
        var lesson = Lesson.Book(
            pupil.Id, school.InstructorId, (await school.Host.Data.CarAsync()).Id, new(start, start + Duration.FromHours(1)), pupil.PickUp, pupil.PickUp, start);
        await school.Host.AddAsync(lesson);
        return lesson.Id;
    }

    private async Task<MockSchool> SchoolAsync()
    {
        var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync(instructor: instructor.Id);
        return new(host, pupil, instructor.Id, await host.ApiAsAsync(await host.Data.PersonAsync(instructor)), await host.ApiAsAsync(await host.Data.PersonAsync(pupil)));
    }

    private sealed record MockSchool(SchoolHost Host, Pupil Pupil, Guid InstructorId, HttpClient Instructor, HttpClient Own) : IAsyncDisposable
    {
        public string Path => $"/api/v1/pupils/{Pupil.Id}/mock-tests";

        public async ValueTask DisposeAsync()
        {
            Instructor.Dispose();
            Own.Dispose();
            await Host.DisposeAsync();
        }
    }
}
