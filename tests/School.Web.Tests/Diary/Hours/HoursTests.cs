using System.Net;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using School.Tests;
using School.Web.Modules.Diary.Hours;
using School.Web.Platform.Access;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.Hours;

public sealed class HoursTests(TestPostgres postgres)
{
    private static readonly Instant Thursday10 = London(2026, 3, 5, 10);

    [Fact]
    public async Task Hours_are_added_changed_with_their_etag_and_removed()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var path = $"/api/v1/instructors/{school.InstructorId}/working-hours";
        var added = await school.Instructor.SendJsonAsync(HttpMethod.Post, path, new { day = "monday", start = "18:30", end = "21:00", from = "2026-04-01" });
        var row = await added.JsonAsync(HttpStatusCode.Created);
        Assert.Equal(("monday", "18:30", "21:00"), (row.Word("day"), row.Word("start"), row.Word("end")));
        Assert.Equal(8, (await school.Instructor.GetJsonAsync(path)).GetProperty("items").GetArrayLength());

        var one = $"{path}/{row.Id()}";
        var change = new { day = "monday", start = "18:30", end = "20:00", from = "2026-04-01", to = "2026-10-31" };
        Assert.Equal(HttpStatusCode.PreconditionRequired, (await school.Instructor.SendJsonAsync(HttpMethod.Put, one, change)).StatusCode);
        Assert.Equal(HttpStatusCode.PreconditionFailed, (await school.Instructor.SendJsonAsync(HttpMethod.Put, one, change, etag: "\"9\"")).StatusCode);
        var changed = await (await school.Instructor.SendJsonAsync(HttpMethod.Put, one, change, etag: added.Headers.ETag!.Tag)).JsonAsync();
        Assert.Equal(("20:00", "2026-10-31"), (changed.Word("end"), changed.Word("to")));
        await (await school.Instructor.SendJsonAsync(HttpMethod.Delete, one)).JsonAsync();
        Assert.Equal(HttpStatusCode.NotFound, (await school.Instructor.SendJsonAsync(HttpMethod.Delete, one)).StatusCode);
    }

    [Theory]
    [InlineData("monday", "12:00", "11:00", "2026-04-01", null, "end")]
    [InlineData("monday", "17:00", "19:00", "2026-04-01", null, "start")] // overlaps 08:00 to 18:00
    [InlineData("monday", "19:00", "20:00", "2026-04-01", "2026-03-01", "to")]
    [InlineData("monday", "7 o'clock", "20:00", "2026-04-01", null, "start")]
    [InlineData("none", "19:00", "20:00", "2026-04-01", null, "day")]
    [InlineData("monday", "19:00", "20:00", "0001-01-01", null, "from")]
    public async Task Hours_that_make_no_sense_are_told_beside_their_field(string day, string start, string end, string from, string? to, string field)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var answer = await school.Instructor.SendJsonAsync(
            HttpMethod.Post, $"/api/v1/instructors/{school.InstructorId}/working-hours", new { day, start, end, from, to });
        Assert.True((await answer.JsonAsync(HttpStatusCode.BadRequest)).GetProperty("errors").TryGetProperty(field, out _));
        Assert.Equal(7, await school.Host.WithDbAsync(db => db.Set<WorkingHoursRow>().CountAsync()));
    }

    [Fact]
    public async Task Shorter_hours_name_the_lessons_that_now_lie_outside()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var inside = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        var outside = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 12, 16, 30))).Id();
        var path = $"/api/v1/instructors/{school.InstructorId}/working-hours";
        var thursday = (await school.Office.GetJsonAsync(path)).GetProperty("items").EnumerateArray().Single(h => h.Word("day") == "thursday");
        var changed = await (await school.Office.SendJsonAsync(
            HttpMethod.Put, $"{path}/{thursday.Id()}", new { day = "thursday", start = "08:00", end = "17:00", from = "2020-01-01" }, etag: "\"1\"")).JsonAsync();
        Assert.Equal([outside], changed.GetProperty("affected").EnumerateArray().Select(a => a.GetGuid()));
        var removed = await (await school.Office.SendJsonAsync(HttpMethod.Delete, $"{path}/{thursday.Id()}")).JsonAsync();
        Assert.Equal([inside, outside], removed.GetProperty("affected").EnumerateArray().Select(a => a.GetGuid()));
        Assert.Equal("booked", (await school.Office.GetJsonAsync($"/api/v1/lessons/{outside}")).Word("state"));
    }

    [Fact]
    public async Task Time_off_names_the_lessons_in_it_and_keeps_new_ones_out()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var lesson = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        var path = $"/api/v1/instructors/{school.InstructorId}/time-off";
        var off = new { start = Text(London(2026, 3, 5, 9)), end = Text(London(2026, 3, 5, 12)), reason = "Dentist" };
        var added = await (await school.Instructor.SendJsonAsync(HttpMethod.Post, path, off)).JsonAsync(HttpStatusCode.Created);
        Assert.Equal([lesson], added.GetProperty("affected").EnumerateArray().Select(a => a.GetGuid()));
        Assert.Equal("time_off", await (await school.Pupil.BookAsync(school.PupilId, school.InstructorId, London(2026, 3, 5, 11))).CodeAsync(HttpStatusCode.UnprocessableEntity));
        Assert.Equal("time_off_overlaps", await (await school.Instructor.SendJsonAsync(HttpMethod.Post, path, off)).CodeAsync(HttpStatusCode.Conflict));
        var backwards = new { start = off.end, end = off.start };
        var wrong = await (await school.Instructor.SendJsonAsync(HttpMethod.Post, path, backwards)).JsonAsync(HttpStatusCode.BadRequest);
        Assert.True(wrong.GetProperty("errors").TryGetProperty("end", out _));

        var over = new { start = Text(London(2026, 3, 1, 9)), end = Text(London(2026, 3, 2, 8)) };
        var past = await (await school.Instructor.SendJsonAsync(HttpMethod.Post, path, over)).JsonAsync(HttpStatusCode.BadRequest);
        Assert.Equal("This time is already past.", past.GetProperty("errors").GetProperty("end")[0].GetString());

        Assert.Equal("Dentist", (await school.Instructor.GetJsonAsync(path)).GetProperty("items")[0].Word("reason"));
        Assert.Equal(HttpStatusCode.NoContent, (await school.Instructor.SendJsonAsync(HttpMethod.Delete, $"{path}/{added.Id()}")).StatusCode);
        await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 5, 11, 15));
    }

    [Fact]
    public async Task Time_off_is_changed_until_it_is_over()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var lesson = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        var path = $"/api/v1/instructors/{school.InstructorId}/time-off";
        var off = new { start = Text(London(2026, 3, 4, 9)), end = Text(London(2026, 3, 4, 12)), reason = "Dentist" };
        var added = await (await school.Instructor.SendJsonAsync(HttpMethod.Post, path, off)).JsonAsync(HttpStatusCode.Created);
        var one = $"{path}/{added.Id()}";
        var next = new { start = Text(London(2026, 3, 5, 9)), end = Text(London(2026, 3, 5, 12)), reason = "Dentist, a day later" };

        Assert.Equal(HttpStatusCode.PreconditionRequired, (await school.Instructor.SendJsonAsync(HttpMethod.Put, one, next)).StatusCode);
        var changed = await (await school.Instructor.SendJsonAsync(HttpMethod.Put, one, next, etag: "\"1\"")).JsonAsync();
        Assert.Equal([lesson], changed.GetProperty("affected").EnumerateArray().Select(a => a.GetGuid()));
        Assert.Equal(HttpStatusCode.PreconditionFailed, (await school.Instructor.SendJsonAsync(HttpMethod.Put, one, off, etag: "\"1\"")).StatusCode);
        Assert.Equal("Dentist, a day later", (await school.Instructor.GetJsonAsync(one)).Word("reason"));
        await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 4, 10));
        var backwards = new { start = next.end, end = next.start };
        Assert.Equal(HttpStatusCode.BadRequest, (await school.Instructor.SendJsonAsync(HttpMethod.Put, one, backwards, etag: "*")).StatusCode);

        var other = new { start = Text(London(2026, 3, 6, 9)), end = Text(London(2026, 3, 6, 12)) };
        await (await school.Instructor.SendJsonAsync(HttpMethod.Post, path, other)).JsonAsync(HttpStatusCode.Created);
        Assert.Equal("time_off_overlaps", await (await school.Instructor.SendJsonAsync(HttpMethod.Put, one, other, etag: "*")).CodeAsync(HttpStatusCode.Conflict));
        var stranger = await school.Host.ApiAsAsync(await school.Host.Data.PersonAsync(await school.Host.Data.InstructorAsync("Basil Thornby")));
        Assert.Equal(HttpStatusCode.NotFound, (await stranger.SendJsonAsync(HttpMethod.Put, one, next, etag: "*")).StatusCode);

        school.Host.Clock.Reset(London(2026, 3, 5, 13));
        Assert.Equal("time_off_over", await (await school.Instructor.SendJsonAsync(HttpMethod.Put, one, next, etag: "*")).CodeAsync(HttpStatusCode.UnprocessableEntity));
    }

    [Fact]
    public async Task A_local_time_that_the_clocks_skip_is_refused_and_names_the_clocks()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await using var scope = school.Host.Services.CreateAsyncScope();
        var add = scope.ServiceProvider.GetRequiredService<AddTimeOff>();
        var skipped = await add.RunAsync(
            Viewer.Service, school.InstructorId, new LocalTimeOff(new(2026, 3, 29, 1, 30), new(2026, 3, 29, 9, 0)), CancellationToken.None);
        Assert.Equal(
            "There is no 01:30 on Sunday 29 March 2026: the clocks go forward from 01:00 to 02:00. Choose a time before or after.",
            skipped.Refusal!.Fields["Start"].Single());

        // A time that comes twice: off from the first to the second.
        var twice = await add.RunAsync(
            Viewer.Service, school.InstructorId, new LocalTimeOff(new(2026, 10, 25, 1, 30), new(2026, 10, 25, 1, 45)), CancellationToken.None);
        Assert.Equal(Instant.FromUtc(2026, 10, 25, 0, 30), twice.Value!.Row.StartsAt);
        Assert.Equal(Instant.FromUtc(2026, 10, 25, 1, 45), twice.Value.Row.EndsAt);
    }

    [Fact]
    public async Task Hours_and_time_off_are_the_instructors_own_or_the_offices()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var other = await school.Host.Data.InstructorAsync("Basil Thornby");
        foreach (var path in new[] { $"/api/v1/instructors/{other.Id}/working-hours", $"/api/v1/instructors/{other.Id}/time-off", $"/api/v1/instructors/{other.Id}/day/2026-03-05" })
        {
            Assert.Equal(HttpStatusCode.NotFound, (await school.Instructor.GetAsync(path)).StatusCode);
            Assert.Equal(HttpStatusCode.Forbidden, (await school.Pupil.GetAsync(path)).StatusCode);
            Assert.Equal(HttpStatusCode.OK, (await school.Office.GetAsync(path)).StatusCode);
        }
    }
}
