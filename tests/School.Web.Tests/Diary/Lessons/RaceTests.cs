using System.Net;
using System.Net.Http.Json;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Messages;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.Lessons;

public sealed class RaceTests(TestPostgres postgres)
{
    private static readonly Instant Thursday10 = London(2026, 3, 5, 10);

    [Fact]
    public async Task Of_two_who_press_at_once_on_two_nodes_one_gets_the_lesson_and_the_other_three_alternatives()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await using var second = host.SecondNode();
        var instructor = await host.Data.InstructorAsync();
        var (one, two) = (await host.Data.PupilAsync(), await host.Data.PupilAsync("Corin Vale"));
        using var a = await host.ApiAsAsync(await host.Data.PersonAsync(one));
        using var b = await second.ApiAsAsync(await host.Data.PersonAsync(two));
        for (var day = 5; day <= 9; day++)
        {
            var start = London(2026, 3, day, 10);
            var answers = await Task.WhenAll(a.BookAsync(one.Id, instructor.Id, start), b.BookAsync(two.Id, instructor.Id, start));
            Assert.Equal([HttpStatusCode.Created, HttpStatusCode.Conflict], answers.Select(r => r.StatusCode).Order());
            var lost = await answers.Single(r => r.StatusCode == HttpStatusCode.Conflict).JsonAsync(HttpStatusCode.Conflict);
            Assert.Equal("instructor_busy", lost.Word("code"));
            Assert.Equal(3, lost.GetProperty("alternatives").GetArrayLength());
        }
    }

    [Fact]
    public async Task Two_lessons_that_leave_no_time_to_drive_between_are_not_both_booked()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await using var second = host.SecondNode();
        var instructor = await host.Data.InstructorAsync();
        // About ten miles apart, and the lessons would touch.
        var (near, far) = (await host.Data.PupilAsync(), await host.Data.PupilAsync("Corin Vale", TestData.PlaceAt(100)));
        using var a = await host.ApiAsAsync(await host.Data.PersonAsync(near));
        using var b = await second.ApiAsAsync(await host.Data.PersonAsync(far));
        for (var day = 5; day <= 9; day++)
        {
            var start = London(2026, 3, day, 10);
            var answers = await Task.WhenAll(
                a.BookAsync(near.Id, instructor.Id, start), b.BookAsync(far.Id, instructor.Id, start + Duration.FromHours(1)));
            // Nobody holds that very time, so it is a rule that says no, and it names other times.
            Assert.Equal([HttpStatusCode.Created, HttpStatusCode.UnprocessableEntity], answers.Select(r => r.StatusCode).Order());
            var lost = await answers.Single(r => r.StatusCode == HttpStatusCode.UnprocessableEntity).JsonAsync(HttpStatusCode.UnprocessableEntity);
            Assert.Equal("no_time_to_get_there", lost.Word("code"));
            Assert.NotEmpty(lost.GetProperty("alternatives").EnumerateArray());
        }
    }

    [Fact]
    public async Task A_pupil_who_presses_twice_with_two_instructors_gets_one_lesson()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await using var second = host.SecondNode();
        var (one, two) = (await host.Data.InstructorAsync(), await host.Data.InstructorAsync("Basil Thornby"));
        var person = await host.Data.PersonAsync(await host.Data.PupilAsync());
        using var a = await host.ApiAsAsync(person);
        using var b = await second.ApiAsAsync(person);
        var answers = await Task.WhenAll(
            a.BookAsync(person.PupilId!.Value, one.Id, Thursday10), b.BookAsync(person.PupilId!.Value, two.Id, Thursday10 + Duration.FromMinutes(30)));
        Assert.Equal([HttpStatusCode.Created, HttpStatusCode.Conflict], answers.Select(r => r.StatusCode).Order());
        Assert.Equal("pupil_busy", await answers.Single(r => r.StatusCode == HttpStatusCode.Conflict).CodeAsync(HttpStatusCode.Conflict));
    }

    [Fact]
    public async Task One_idempotency_key_twenty_times_over_two_nodes_makes_one_lesson_and_equal_answers()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await using var second = host.SecondNode();
        var instructor = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync();
        var person = await host.Data.PersonAsync(pupil);
        using var a = await host.ApiAsAsync(person);
        using var b = await second.ApiAsAsync(person);
        const string Key = "0b9f3f0e-6f0a-4f43-9c43-3d1b0a7f5a11";

        var answers = await Task.WhenAll(Enumerable.Range(0, 20).Select(i => (i % 2 == 0 ? a : b).BookAsync(pupil.Id, instructor.Id, Thursday10, key: Key)));
        var bodies = await Task.WhenAll(answers.Select(r => r.Content.ReadAsStringAsync()));
        Assert.All(answers, r => Assert.Equal(HttpStatusCode.Created, r.StatusCode));
        Assert.Single(bodies.Distinct());
        Assert.Single(answers.Select(r => r.Headers.Location).Distinct());
        Assert.Single(answers.Select(r => r.Headers.ETag).Distinct());
        Assert.Equal(1, await host.WithDbAsync(db => db.Set<Lesson>().CountAsync()));
        Assert.Equal(2, await host.WithDbAsync(db => db.Set<Message>().CountAsync(m => m.Kind == "lesson_booked")));

        Assert.Equal(
            "key_used_before",
            await (await b.BookAsync(pupil.Id, instructor.Id, Thursday10 + Duration.FromHours(3), key: Key)).CodeAsync(HttpStatusCode.UnprocessableEntity));
        Assert.Equal(1, await host.WithDbAsync(db => db.Set<Lesson>().CountAsync()));
    }

    [Fact]
    public async Task A_refusal_under_an_idempotency_key_is_kept_too()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        var (one, two) = (await host.Data.PupilAsync(), await host.Data.PupilAsync("Corin Vale"));
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var id = (await office.BookedAsync(one.Id, instructor.Id, Thursday10)).Id();
        var first = await (await office.BookAsync(two.Id, instructor.Id, Thursday10, key: "again")).JsonAsync(HttpStatusCode.Conflict);
        await (await office.CancelAsync(id)).JsonAsync();
        var repeat = await office.BookAsync(two.Id, instructor.Id, Thursday10, key: "again");
        Assert.Equal("true", repeat.Headers.GetValues("Idempotency-Replayed").Single());
        Assert.Equal(first.ToString(), (await repeat.JsonAsync(HttpStatusCode.Conflict)).ToString());
    }

    [Fact]
    public async Task Moving_and_cancelling_the_same_lesson_at_once_ends_in_one_story()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await using var second = host.SecondNode();
        var instructor = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync();
        var person = await host.Data.OfficeAsync();
        using var a = await host.ApiAsAsync(person);
        using var b = await second.ApiAsAsync(person);
        for (var day = 5; day <= 9; day++)
        {
            var id = (await a.BookedAsync(pupil.Id, instructor.Id, London(2026, 3, day, 10))).Id();
            var answers = await Task.WhenAll(a.CancelAsync(id), b.MoveAsync(id, London(2026, 3, day, 13)), b.MoveAsync(id, London(2026, 3, day, 15)));
            Assert.All(answers, r => Assert.Contains(r.StatusCode, new[] { HttpStatusCode.OK, HttpStatusCode.Conflict }));
            var lesson = await a.GetJsonAsync($"/api/v1/lessons/{id}");
            var changes = (await a.GetJsonAsync($"/api/v1/lessons/{id}/history")).GetProperty("items").GetArrayLength();
            Assert.Equal("cancelled", lesson.Word("state"));
            Assert.Equal(1 + answers.Count(r => r.StatusCode == HttpStatusCode.OK), changes);
            Assert.Equal(changes - 1, lesson.GetProperty("sequence").GetInt32());
        }
    }
}
