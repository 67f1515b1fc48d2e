using System.Net;
using System.Runtime.Versioning;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using School.Core.Cars;
using School.Tests;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Messages;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Tests.Diary.TestDays;
using School.Web.Tests.Host;
using School.Web.Tests.Platform;
using static System.Net.Http.HttpMethod;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.HandOvers;

/// <summary>A pupil goes to another instructor for good. The clock stands at Monday 2 March 2026, 08:00.</summary>
[UnsupportedOSPlatform("windows")]
public sealed class HandOverTests(TestPostgres postgres)
{
    [Fact]
    public async Task Coming_lessons_keep_their_times_with_the_new_instructor_and_everybody_hears_of_it_once()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var to = await school.Host.Data.InstructorAsync("Piers Anstey");
        var early = await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 3, 10));
        var first = await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 5, 10));
        var second = await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 12, 10));
        var other = await school.Host.Data.PupilAsync("Wren Castellan", instructor: to.Id);
        await school.Office.BookedAsync(other.Id, to.Id, London(2026, 3, 12, 10));

        var plan = await PlanAsync(school, to, "2026-03-04");
        Assert.Equal(("proposed", school.InstructorId), (plan.Word("state"), plan.Id("formerInstructorId")));
        var lines = plan.GetProperty("lines").EnumerateArray().ToList();
        Assert.Equal([school.PupilId, first.Id(), second.Id()], lines.Select(line => line.Id()));
        Assert.Equal(["move", "move", "none"], lines.Select(line => line.Word("act")));
        Assert.NotEqual("", Assert.Single(lines[2].GetProperty("whyNot").EnumerateArray()).Word("code"));
        Assert.Equal(school.InstructorId, (await LessonAsync(school, first.Id())).InstructorId);

        Assert.Equal("applied", (await (await ApplyAsync(school, plan)).JsonAsync()).Word("state"));
        var moved = await LessonAsync(school, first.Id());
        Assert.Equal((to.Id, London(2026, 3, 5, 10), false), (moved.InstructorId, moved.StartsAt, moved.Chargeable ?? false));
        Assert.Equal(school.InstructorId, (await LessonAsync(school, second.Id())).InstructorId);
        Assert.Equal(school.InstructorId, (await LessonAsync(school, early.Id())).InstructorId);
        Assert.Equal(to.Id, (await school.Host.WithDbAsync(db => db.Set<Pupil>().SingleAsync(p => p.Id == school.PupilId))).UsualInstructorId);
        // One letter each, about all of it.
        var moves = await school.Host.WithDbAsync(db => db.Set<Message>().AsNoTracking().CountAsync(m => m.Kind == "lesson_moved" || m.Kind == "lessons_changed"));
        Assert.Equal(0, moves);
        var letters = await school.Host.SaidAsync(all => all.Where(m => m.Kind == "pupil_handed_over").OrderBy(m => m.ToName));
        Assert.Equal(
            [
                ("Marigold Ashby", "Tamsin Oakley learns with Piers Anstey from Wednesday 4 March 2026"),
                ("Piers Anstey", "You take over Tamsin Oakley from Wednesday 4 March 2026"),
                ("Tamsin Oakley", "From Wednesday 4 March 2026 you learn with Piers Anstey"),
            ],
            letters.Select(m => (m.ToName, m.Subject)));
        Assert.All(letters, m => Assert.Contains("10:00", m.Text, StringComparison.Ordinal));
        Assert.Contains($"/syllabus/lessons/{first.Id()}/brief", letters[1].Text, StringComparison.Ordinal);
        Assert.Contains("with Marigold Ashby", letters[2].Text, StringComparison.Ordinal);
        var history = (await school.Office.GetJsonAsync($"/api/v1/lessons/{first.Id()}/history")).ToString();
        Assert.Contains("Handed over for good: now with Piers Anstey in place of Marigold Ashby.", history, StringComparison.Ordinal);
        // Each change of a lesson has its letter, and each letter its cause.
        var (exitCode, checks) = await CheckTests.CheckAsync(school.Host);
        Assert.True(exitCode == 0, string.Join('\n', checks));
        // The new one sees the pupil at once.
        using var api = await school.Host.ApiAsAsync(await school.Host.Data.PersonAsync(to));
        Assert.Equal("everything", (await api.GetJsonAsync($"/api/v1/pupils/{school.PupilId}")).Word("sees"));
    }

    [Fact]
    public async Task It_costs_the_pupil_nothing_also_within_the_notice()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var to = await school.Host.Data.InstructorAsync("Piers Anstey");
        // This afternoon: to cancel it the pupil would pay.
        var lesson = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 2, 16))).Id();
        var would = await school.Pupil.GetJsonAsync($"/api/v1/lessons/{lesson}/charge?act=cancel&reason=pupil");
        Assert.True(would.GetProperty("chargeable").GetBoolean());
        var plan = await PlanAsync(school, to, "2026-03-02");
        var charge = plan.GetProperty("lines").EnumerateArray().Single(line => line.Id() == lesson).GetProperty("charge");
        Assert.Equal(("free_school", false), (charge.Word("code"), charge.GetProperty("chargeable").GetBoolean()));
        await (await ApplyAsync(school, plan)).JsonAsync();
        var moved = await school.Office.GetJsonAsync($"/api/v1/lessons/{lesson}");
        Assert.Equal(to.Id, moved.Id("instructorId"));
        Assert.NotEqual(JsonValueKind.True, moved.GetProperty("chargeable").ValueKind);
    }

    [Fact]
    public async Task An_instructor_without_the_right_car_takes_the_pupil_and_no_lesson()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var to = await school.Host.Data.InstructorAsync("Piers Anstey", null, Gearbox.Automatic);
        var lesson = await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 5, 10));
        var plan = await PlanAsync(school, to, "2026-03-03");
        var line = plan.GetProperty("lines").EnumerateArray().Single(one => one.Id() == lesson.Id());
        Assert.Equal("none", line.Word("act"));
        await (await ApplyAsync(school, plan)).JsonAsync();
        Assert.Equal(school.InstructorId, (await LessonAsync(school, lesson.Id())).InstructorId);
    }

    [Fact]
    public async Task A_lesson_booked_meanwhile_makes_it_stale_and_nothing_is_done()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var to = await school.Host.Data.InstructorAsync("Piers Anstey");
        var lesson = await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 5, 10));
        var plan = await PlanAsync(school, to, "2026-03-03");
        // On a day that the proposal says nothing about.
        await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 17, 14));
        Assert.Equal("proposal_stale", await (await ApplyAsync(school, plan)).CodeAsync(HttpStatusCode.Conflict));
        Assert.Equal(school.InstructorId, (await LessonAsync(school, lesson.Id())).InstructorId);
        var again = await school.Office.GetJsonAsync($"/api/v1/hand-overs/{plan.Id()}");
        Assert.Equal(3, again.GetProperty("lines").GetArrayLength());
        await (await ApplyAsync(school, plan)).JsonAsync();
        Assert.Equal(to.Id, (await LessonAsync(school, lesson.Id())).InstructorId);
    }

    [Fact]
    public async Task Raced_with_bookings_of_the_pupil_no_lesson_is_left_behind()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var to = await school.Host.Data.InstructorAsync("Piers Anstey");
        await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 5, 10));
        var plan = await PlanAsync(school, to, "2026-03-03");
        var applies = ApplyAsync(school, plan);
        var books = Enumerable.Range(10, 4).Select(hour => school.Pupil.BookAsync(school.PupilId, school.InstructorId, London(2026, 3, 6 + hour, 14))).ToList();
        var booked = (await Task.WhenAll(books)).Count(answer => answer.StatusCode == HttpStatusCode.Created);
        var applied = (await applies).StatusCode;
        var lessons = await school.Host.WithDbAsync(db => db.Set<Lesson>().AsNoTracking().Where(l => l.PupilId == school.PupilId).ToListAsync());
        Assert.Equal(booked + 1, lessons.Count);
        // Carried out before any was booked, or not at all.
        Assert.Equal(applied == HttpStatusCode.OK ? 1 : 0, lessons.Count(l => l.InstructorId == to.Id));
        Assert.Contains(applied, new[] { HttpStatusCode.OK, HttpStatusCode.Conflict });
    }

    [Fact]
    public async Task The_line_of_the_pupil_goes_with_every_hand_over()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var to = await school.Host.Data.InstructorAsync("Piers Anstey");
        var lesson = await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 5, 10));
        var plan = await PlanAsync(school, to, "2026-03-03");
        using var refused = await school.Office.SendJsonAsync(Post, $"/api/v1/hand-overs/{plan.Id()}/apply", new { lines = new[] { lesson.Id() } });
        Assert.True((await refused.JsonAsync(HttpStatusCode.BadRequest)).GetProperty("errors").TryGetProperty("lines", out _));
        Assert.Equal(school.InstructorId, (await LessonAsync(school, lesson.Id())).InstructorId);
        // Without any lesson everybody hears of it all the same.
        using var alone = await school.Office.SendJsonAsync(Post, $"/api/v1/hand-overs/{plan.Id()}/apply", new { lines = new[] { school.PupilId } });
        Assert.Equal("applied", (await alone.JsonAsync()).Word("state"));
        Assert.Equal(school.InstructorId, (await LessonAsync(school, lesson.Id())).InstructorId);
        Assert.Equal(3, await school.Host.WithDbAsync(db => db.Set<Message>().CountAsync(m => m.Kind == "pupil_handed_over")));
    }

    [Fact]
    public async Task Whoever_left_since_is_handed_to_nobody_and_gets_nobody()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var to = await school.Host.Data.InstructorAsync("Piers Anstey");
        var plan = await PlanAsync(school, to, "2026-03-03");
        await school.Host.WithDbAsync(db => db.Set<Instructor>().Where(i => i.Id == to.Id).ExecuteUpdateAsync(set => set.SetProperty(i => i.RetiredOn, new NodaTime.LocalDate(2026, 3, 2))));
        foreach (var _ in Enumerable.Range(0, 2))
        {
            using var answer = await ApplyAsync(school, plan);
            Assert.True(answer.StatusCode is HttpStatusCode.UnprocessableEntity or HttpStatusCode.Conflict, $"{answer.StatusCode}");
        }

        await school.Host.WithDbAsync(db => db.Set<Instructor>().Where(i => i.Id == to.Id).ExecuteUpdateAsync(set => set.SetProperty(i => i.RetiredOn, (NodaTime.LocalDate?)null)));
        await (await school.Office.SendJsonAsync(Post, $"/api/v1/pupils/{school.PupilId}/retire")).JsonAsync();
        foreach (var _ in Enumerable.Range(0, 2))
        {
            using var answer = await ApplyAsync(school, plan);
            Assert.True(answer.StatusCode is HttpStatusCode.UnprocessableEntity or HttpStatusCode.Conflict, $"{answer.StatusCode}");
        }

        Assert.Equal(school.InstructorId, (await school.Host.WithDbAsync(db => db.Set<Pupil>().SingleAsync(p => p.Id == school.PupilId))).UsualInstructorId);
    }

    [Fact]
    public async Task A_test_tomorrow_is_told_with_who_goes_along_and_stays()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var to = await school.Host.Data.InstructorAsync("Piers Anstey");
        var entered = await (await school.Office.SendJsonAsync(
            Post, TestDayApi.Path, TestDayApi.Body(school.PupilId, London(2026, 3, 3, 10), ("instructorId", school.InstructorId)))).JsonAsync(HttpStatusCode.Created);
        var plan = await PlanAsync(school, to, "2026-03-02");
        var test = Assert.Single(plan.GetProperty("tests").EnumerateArray());
        Assert.Equal((entered.Id(), school.InstructorId), (test.Id("testDayId"), test.Id("instructorId")));
        using var pages = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Ottilie Crane"));
        Assert.Contains("Marigold Ashby goes along", await (await pages.GetAsync($"/diary/hand-overs/{plan.Id()}")).TextAsync(), StringComparison.Ordinal);
        await (await ApplyAsync(school, plan)).JsonAsync();
        Assert.Equal(school.InstructorId, (await school.Office.GetJsonAsync($"{TestDayApi.Path}/{entered.Id()}")).Id("instructorId"));
    }

    [Fact]
    public async Task What_makes_no_sense_is_refused()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var to = await school.Host.Data.InstructorAsync("Piers Anstey");
        Assert.Equal("already_theirs", await (await AskAsync(school.Office, school.PupilId, school.InstructorId, "2026-03-03")).CodeAsync(HttpStatusCode.UnprocessableEntity));
        Assert.Equal(HttpStatusCode.BadRequest, (await AskAsync(school.Office, school.PupilId, to.Id, "2026-03-01")).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await AskAsync(school.Office, school.PupilId, Guid.NewGuid(), "2026-03-03")).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await AskAsync(school.Office, Guid.NewGuid(), to.Id, "2026-03-03")).StatusCode);
        Assert.Equal(HttpStatusCode.Forbidden, (await AskAsync(school.Instructor, school.PupilId, to.Id, "2026-03-03")).StatusCode);
    }

    private static Task<HttpResponseMessage> AskAsync(HttpClient api, Guid pupil, Guid to, string from) =>
        api.SendJsonAsync(Post, $"/api/v1/pupils/{pupil}/hand-over", new { instructorId = to, from });

    private static async Task<JsonElement> PlanAsync(SmallSchool school, Instructor to, string from) =>
        await (await AskAsync(school.Office, school.PupilId, to.Id, from)).JsonAsync(HttpStatusCode.Created);

    private static Task<HttpResponseMessage> ApplyAsync(SmallSchool school, JsonElement plan) => school.Office.SendJsonAsync(Post, $"/api/v1/hand-overs/{plan.Id()}/apply");

    private static Task<Lesson> LessonAsync(SmallSchool school, Guid id) => school.Host.WithDbAsync(db => db.Set<Lesson>().AsNoTracking().SingleAsync(l => l.Id == id));
}
