using System.Net;
using NodaTime;
using School.Tests;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary;

public sealed class BookLessonTests(TestPostgres postgres)
{
    private static readonly Instant Thursday10 = London(2026, 3, 5, 10);

    [Fact]
    public async Task A_pupil_books_a_free_time_that_the_search_offers()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync(instructor: instructor.Id);
        using var api = await host.ApiAsAsync(await host.Data.PersonAsync(pupil));

        var slots = await api.GetJsonAsync($"/api/v1/slots?pupilId={pupil.Id}&from=2026-03-05&to=2026-03-05&minutes=60");
        var slot = slots.GetProperty("items").EnumerateArray().Single(s => s.Moment("start") == Thursday10);
        Assert.Equal(instructor.Id, slot.Id("instructorId"));
        Assert.Equal(System.Text.Json.JsonValueKind.Null, slot.GetProperty("extraDrivingMinutes").ValueKind);

        var answer = await api.BookAsync(pupil.Id, instructor.Id, Thursday10);
        var lesson = await answer.JsonAsync(HttpStatusCode.Created);
        Assert.Equal($"/api/v1/lessons/{lesson.Id()}", answer.Headers.Location!.ToString());
        Assert.Equal("\"1\"", answer.Headers.ETag!.Tag);
        Assert.Equal("booked", lesson.Word("state"));
        Assert.Equal(60, lesson.GetProperty("minutes").GetInt32());
        Assert.Equal(slot.Id("carId"), lesson.Id("carId"));
        Assert.Equal("Mill Lane", lesson.GetProperty("pickUp").Word("label"));

        var again = await api.GetAsync(answer.Headers.Location);
        Assert.Equal(lesson.ToString(), (await again.JsonAsync()).ToString());
        Assert.Equal("\"1\"", again.Headers.ETag!.Tag);
    }

    [Fact]
    public async Task A_time_that_is_gone_is_409_with_the_three_nearest_alternatives()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        var (first, second) = (await host.Data.PupilAsync(), await host.Data.PupilAsync("Corin Vale"));
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        await office.BookedAsync(first.Id, instructor.Id, Thursday10);

        using var api = await host.ApiAsAsync(await host.Data.PersonAsync(second));
        var problem = await (await api.BookAsync(second.Id, instructor.Id, Thursday10)).JsonAsync(HttpStatusCode.Conflict);
        Assert.Equal("instructor_busy", problem.Word("code"));
        var alternatives = problem.GetProperty("alternatives").EnumerateArray().ToList();
        Assert.Equal(3, alternatives.Count);
        Assert.All(alternatives, a => Assert.True((a.Moment("start") - Thursday10).TotalHours is > -2 and < 2));
        await api.BookedAsync(second.Id, instructor.Id, alternatives[0].Moment("start"));
    }
}
