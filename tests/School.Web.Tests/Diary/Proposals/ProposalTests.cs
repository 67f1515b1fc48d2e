using System.Net;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Messages;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.Proposals;

/// <summary>A set of changes is made, kept, looked at and carried out in the same way whatever it is about.</summary>
public sealed class ProposalTests(TestPostgres postgres)
{
    private static readonly Instant Thursday10 = London(2026, 3, 5, 10);
    private static readonly Instant[] FourThursdays = [Thursday10, London(2026, 3, 12, 10), London(2026, 3, 19, 10), London(2026, 3, 26, 10)];

    [Fact]
    public async Task Weekly_lessons_are_proposed_line_by_line_and_only_those_named_are_booked()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.BookedAsync((await school.Host.Data.PupilAsync("Corin Vale")).Id, school.InstructorId, FourThursdays[1]);
        var made = await school.Pupil.SendJsonAsync(HttpMethod.Post, "/api/v1/weekly", Weekly(school));
        var proposal = await made.JsonAsync(HttpStatusCode.Created);
        Assert.Equal("proposed", proposal.Word("state"));
        var lines = proposal.GetProperty("lines").EnumerateArray().ToList();
        Assert.Equal(["book", "none", "book", "book"], lines.Select(line => line.Word("act")));
        Assert.Equal("instructor_busy", lines[1].GetProperty("whyNot")[0].Word("code"));
        Assert.Equal(proposal.ToString(), (await school.Pupil.GetJsonAsync(made.Headers.Location!.ToString())).ToString());
        Assert.Equal(1, await CountAsync(school));

        var applied = await (await ApplyAsync(school.Pupil, "weekly", proposal.Id(), lines[0].Id(), lines[3].Id())).JsonAsync();
        Assert.Equal("applied", applied.Word("state"));
        Assert.Equal([FourThursdays[0], FourThursdays[3]], await StartsAsync(school));
        Assert.Equal(1, await LettersAsync(school, "weekly_booked"));
        Assert.Equal("proposal_applied", await (await ApplyAsync(school.Pupil, "weekly", proposal.Id())).CodeAsync(HttpStatusCode.Conflict));
        Assert.Equal("proposal_applied", await (await school.Pupil.DeleteAsync($"/api/v1/weekly/{proposal.Id()}")).CodeAsync(HttpStatusCode.Conflict));
    }

    [Fact]
    public async Task What_the_diary_has_overtaken_is_told_stale_refused_and_worked_out_again()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await (await school.Pupil.SendJsonAsync(HttpMethod.Post, "/api/v1/weekly", Weekly(school))).JsonAsync(HttpStatusCode.Created)).Id();
        // Another day is none of its business.
        await school.Office.BookedAsync((await school.Host.Data.PupilAsync("Idris Bell")).Id, school.InstructorId, London(2026, 3, 9, 10));
        Assert.Equal("proposed", (await school.Pupil.GetJsonAsync($"/api/v1/weekly/{id}")).Word("state"));
        await school.Office.BookedAsync((await school.Host.Data.PupilAsync("Corin Vale")).Id, school.InstructorId, FourThursdays[2]);
        Assert.Equal("stale", (await school.Pupil.GetJsonAsync($"/api/v1/weekly/{id}")).Word("state"));

        Assert.Equal("proposal_stale", await (await ApplyAsync(school.Pupil, "weekly", id)).CodeAsync(HttpStatusCode.Conflict));
        Assert.Empty(await StartsAsync(school));
        var again = await school.Pupil.GetJsonAsync($"/api/v1/weekly/{id}");
        Assert.Equal("proposed", again.Word("state"));
        Assert.Equal(["book", "book", "none", "book"], again.GetProperty("lines").EnumerateArray().Select(line => line.Word("act")));
        await (await ApplyAsync(school.Pupil, "weekly", id)).JsonAsync();
        Assert.Equal([FourThursdays[0], FourThursdays[1], FourThursdays[3]], await StartsAsync(school));
    }

    [Fact]
    public async Task A_line_that_would_cost_something_else_by_now_undoes_all()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var lessons = await BookedAsync(school);
        var proposal = await (await school.Pupil.SendJsonAsync(HttpMethod.Post, "/api/v1/weekly", new { lessonId = lessons[0], cancel = new { reason = "pupil" } }))
            .JsonAsync(HttpStatusCode.Created);
        Assert.All(proposal.GetProperty("lines").EnumerateArray(), line =>
            Assert.Equal(("cancel", "free_in_time"), (line.Word("act"), line.GetProperty("charge").Word("code"))));

        school.Host.Clock.Reset(Thursday10 - Duration.FromHours(47));
        Assert.Equal("charge_changed", await (await ApplyAsync(school.Pupil, "weekly", proposal.Id())).CodeAsync(HttpStatusCode.UnprocessableEntity));
        Assert.Equal(FourThursdays, await StartsAsync(school));
        Assert.Equal(0, await LettersAsync(school, "weekly_cancelled"));
        Assert.Equal("proposed", (await school.Pupil.GetJsonAsync($"/api/v1/weekly/{proposal.Id()}")).Word("state"));
        await (await ApplyAsync(school.Pupil, "weekly", proposal.Id(), lessons[2], lessons[3])).JsonAsync();
        Assert.Equal(FourThursdays[..2], await StartsAsync(school));
    }

    [Fact]
    public async Task Those_that_follow_are_proposed_to_move_and_moved_in_part()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var lessons = await BookedAsync(school);
        var proposal = await (await school.Pupil.SendJsonAsync(
            HttpMethod.Post, "/api/v1/weekly", new { lessonId = lessons[1], move = new { start = Text(London(2026, 3, 13, 14)) } })).JsonAsync(HttpStatusCode.Created);
        var lines = proposal.GetProperty("lines").EnumerateArray().ToList();
        Assert.Equal(lessons[1..], lines.Select(line => line.Id("lessonId")));
        Assert.All(lines, line => Assert.Equal(("move", "free_in_time"), (line.Word("act"), line.GetProperty("charge").Word("code"))));
        Assert.Equal(FourThursdays, await StartsAsync(school));
        await (await ApplyAsync(school.Pupil, "weekly", proposal.Id(), lessons[1], lessons[3])).JsonAsync();
        Assert.Equal([Thursday10, London(2026, 3, 13, 14), FourThursdays[2], London(2026, 3, 27, 14)], await StartsAsync(school));
        Assert.Equal(1, await LettersAsync(school, "weekly_moved"));
    }

    [Fact]
    public async Task One_that_is_dropped_is_not_carried_out_and_somebody_elses_is_not_there()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await (await school.Pupil.SendJsonAsync(HttpMethod.Post, "/api/v1/weekly", Weekly(school))).JsonAsync(HttpStatusCode.Created)).Id();
        using var stranger = await school.Host.ApiAsAsync(await school.Host.Data.PersonAsync(await school.Host.Data.PupilAsync("Idris Bell")));
        Assert.Equal(HttpStatusCode.NotFound, (await stranger.GetAsync($"/api/v1/weekly/{id}")).StatusCode);
        Assert.Equal("not_found", await (await ApplyAsync(stranger, "weekly", id)).CodeAsync(HttpStatusCode.NotFound));
        Assert.Equal(HttpStatusCode.NotFound, (await stranger.DeleteAsync($"/api/v1/weekly/{id}")).StatusCode);
        // One kind is not another's.
        Assert.Equal(HttpStatusCode.NotFound, (await school.Office.GetAsync($"/api/v1/covers/{id}")).StatusCode);

        Assert.Equal(HttpStatusCode.NoContent, (await school.Pupil.DeleteAsync($"/api/v1/weekly/{id}")).StatusCode);
        Assert.Equal("stopped", (await school.Pupil.GetJsonAsync($"/api/v1/weekly/{id}")).Word("state"));
        Assert.Equal("proposal_stopped", await (await ApplyAsync(school.Pupil, "weekly", id)).CodeAsync(HttpStatusCode.Conflict));
        Assert.Empty(await StartsAsync(school));
    }

    [Fact]
    public async Task What_makes_no_sense_is_refused()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        Assert.Equal("invalid", await (await school.Pupil.SendJsonAsync(HttpMethod.Post, "/api/v1/weekly", new { })).CodeAsync(HttpStatusCode.BadRequest));
        Assert.Equal("invalid", await (await school.Pupil.SendJsonAsync(HttpMethod.Post, "/api/v1/weekly", new { cancel = new { reason = "pupil" } })).CodeAsync(HttpStatusCode.BadRequest));
        var id = (await (await school.Pupil.SendJsonAsync(HttpMethod.Post, "/api/v1/weekly", Weekly(school))).JsonAsync(HttpStatusCode.Created)).Id();
        Assert.Equal("invalid", await (await ApplyAsync(school.Pupil, "weekly", id, Guid.NewGuid())).CodeAsync(HttpStatusCode.BadRequest));
        Assert.Equal("invalid", await (await school.Pupil.SendJsonAsync(HttpMethod.Post, $"/api/v1/weekly/{id}/apply", new { lines = Array.Empty<Guid>() })).CodeAsync(HttpStatusCode.BadRequest));
        Assert.Equal(HttpStatusCode.PreconditionFailed, (await school.Pupil.SendJsonAsync(HttpMethod.Post, $"/api/v1/weekly/{id}/apply", new { }, etag: "\"7\"")).StatusCode);
    }

    [Fact]
    public async Task Of_several_who_carry_one_out_at_once_one_does()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await (await school.Pupil.SendJsonAsync(HttpMethod.Post, "/api/v1/weekly", Weekly(school))).JsonAsync(HttpStatusCode.Created)).Id();
        var answers = await Task.WhenAll(Enumerable.Range(0, 4).Select(_ => ApplyAsync(school.Pupil, "weekly", id)));
        Assert.Single(answers, answer => answer.StatusCode == HttpStatusCode.OK);
        Assert.All(answers, answer => Assert.True(answer.StatusCode is HttpStatusCode.OK or HttpStatusCode.Conflict));
        Assert.Equal(FourThursdays, await StartsAsync(school));
        Assert.Equal(1, await LettersAsync(school, "weekly_booked"));
    }

    private static object Weekly(SmallSchool school) => new
    {
        book = new { pupilId = school.PupilId, instructorId = school.InstructorId, start = Text(Thursday10), minutes = 60, weeks = 4 },
    };

    private static Task<HttpResponseMessage> ApplyAsync(HttpClient api, string kind, Guid id, params Guid[] lines) =>
        api.SendJsonAsync(HttpMethod.Post, $"/api/v1/{kind}/{id}/apply", lines.Length == 0 ? null : new { lines });

    private static async Task<List<Guid>> BookedAsync(SmallSchool school)
    {
        var id = (await (await school.Pupil.SendJsonAsync(HttpMethod.Post, "/api/v1/weekly", Weekly(school))).JsonAsync(HttpStatusCode.Created)).Id();
        await (await ApplyAsync(school.Pupil, "weekly", id)).JsonAsync();
        return await school.Host.WithDbAsync(db => db.Set<Lesson>().OrderBy(l => l.StartsAt).Select(l => l.Id).ToListAsync());
    }

    private static Task<List<Instant>> StartsAsync(SmallSchool school) => school.Host.WithDbAsync(db => db.Set<Lesson>()
        .Where(l => l.PupilId == school.PupilId && l.State == LessonState.Booked).OrderBy(l => l.StartsAt).Select(l => l.StartsAt).ToListAsync());

    private static Task<int> CountAsync(SmallSchool school) => school.Host.WithDbAsync(db => db.Set<Lesson>().CountAsync());

    /// <summary>Letters of a kind to the pupil.</summary>
    private static Task<int> LettersAsync(SmallSchool school, string kind) =>
        school.Host.WithDbAsync(db => db.Set<Message>().CountAsync(m => m.Kind == kind && m.Key.EndsWith(":pupil")));
}
