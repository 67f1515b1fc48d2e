using System.Net;
using System.Text.Json;
using System.Text.RegularExpressions;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using School.Tests;
using School.Web.Modules.Cars;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Hours;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.Messages;
using School.Web.Modules.Pupils;
using School.Web.Tests.Host;

namespace School.Web.Tests.Diary.Covers;

public sealed class CoverTests(TestPostgres postgres)
{
    [Fact]
    public async Task A_colleague_who_is_free_takes_a_lesson_and_what_nobody_takes_is_cancelled_and_told()
    {
        await using var school = await IllInstructor.StartAsync(postgres);
        var plan = await school.PlanAsync();
        Assert.Equal("proposed", plan.Word("state"));
        Assert.True(plan.GetProperty("proven").GetBoolean());
        var lines = plan.GetProperty("lines").EnumerateArray().ToDictionary(line => line.Id("lessonId"));
        Assert.Equal(school.Bram.Id, lines[school.AtTen].GetProperty("proposed").Id("instructorId"));
        Assert.Equal(JsonValueKind.Null, lines[school.AtTwo].GetProperty("proposed").ValueKind);
        Assert.Equal(["time_off", "instructor_busy"], CodesOf(lines[school.AtTwo], school.Marigold.Id, school.Bram.Id));
        // Nothing has happened yet.
        Assert.Equal(school.Marigold.Id, (await school.LessonAsync(school.AtTen)).InstructorId);

        Assert.Equal("applied", (await (await school.ApplyAsync(plan.Id())).JsonAsync()).Word("state"));
        var (ten, two) = (await school.LessonAsync(school.AtTen), await school.LessonAsync(school.AtTwo));
        Assert.Equal((school.Bram.Id, IllInstructor.At(10), LessonState.Booked), (ten.InstructorId, ten.StartsAt, ten.State));
        Assert.Equal((LessonState.Cancelled, CancelReason.InstructorIll, false), (two.State, two.CancelledBecause, two.Chargeable));
        var off = await school.Host.WithDbAsync(db => db.Set<TimeOffRow>().AsNoTracking().SingleAsync());
        Assert.Equal((school.Marigold.Id, IllInstructor.At(0), IllInstructor.At(23, 59), "Ill"), (off.InstructorId, off.StartsAt, off.EndsAt, off.Reason));
        var told = await school.Host.WithDbAsync(db => db.Set<Message>().AsNoTracking()
            .Where(m => m.AboutId == ten.Id || m.AboutId == two.Id).Select(m => m.Kind + " " + m.ToName).ToListAsync());
        Assert.Contains("lesson_moved Tamsin Oakley", told);
        Assert.Contains("lesson_moved Bram Holt", told);
        Assert.Contains("lesson_cancelled Idris Bell", told);
        var history = await school.Office.GetJsonAsync($"/api/v1/lessons/{ten.Id}/history");
        Assert.Contains("now with Bram Holt in place of Marigold Ashby", history.GetRawText(), StringComparison.Ordinal);

        Assert.Equal("proposal_applied", await (await school.ApplyAsync(plan.Id())).CodeAsync(HttpStatusCode.Conflict));
        Assert.Equal("proposal_applied", await (await school.Office.DeleteAsync($"/api/v1/covers/{plan.Id()}")).CodeAsync(HttpStatusCode.Conflict));
    }

    [Fact]
    public async Task A_lesson_that_may_move_goes_to_the_nearest_time_that_is_free()
    {
        await using var school = await IllInstructor.StartAsync(postgres);
        var plan = await school.PlanAsync(mayMoveMinutes: 120);
        Assert.Equal((0, 1), (plan.GetProperty("cost").GetProperty("uncovered").GetInt32(), plan.GetProperty("cost").GetProperty("moved").GetInt32()));
        await (await school.ApplyAsync(plan.Id())).JsonAsync();
        var two = await school.LessonAsync(school.AtTwo);
        // Bram's lesson begins at 13:30 and the way there and the buffer come before it; after it a rest is due.
        Assert.Equal((school.Bram.Id, IllInstructor.At(12, 15)), (two.InstructorId, two.StartsAt));
    }

    [Fact]
    public async Task Lessons_that_are_left_out_stay_as_they_are()
    {
        await using var school = await IllInstructor.StartAsync(postgres);
        var plan = await school.PlanAsync();
        await (await school.ApplyAsync(plan.Id(), school.AtTen)).JsonAsync();
        var two = await school.LessonAsync(school.AtTwo);
        Assert.Equal((school.Marigold.Id, LessonState.Booked, 1), (two.InstructorId, two.State, two.Version));
        Assert.Equal(school.Bram.Id, (await school.LessonAsync(school.AtTen)).InstructorId);
    }

    [Fact]
    public async Task A_proposal_is_refused_and_worked_out_again_when_the_diary_has_changed()
    {
        await using var school = await IllInstructor.StartAsync(postgres);
        var plan = await school.PlanAsync();
        await school.Office.BookedAsync((await school.Host.Data.PupilAsync("Marlo Fenn")).Id, school.Bram.Id, IllInstructor.At(10, 15));

        Assert.Equal("proposal_stale", await (await school.ApplyAsync(plan.Id())).CodeAsync(HttpStatusCode.Conflict));
        Assert.Equal(school.Marigold.Id, (await school.LessonAsync(school.AtTen)).InstructorId);
        Assert.Equal(0, await school.Host.WithDbAsync(db => db.Set<TimeOffRow>().CountAsync()));
        var again = await school.Office.GetJsonAsync($"/api/v1/covers/{plan.Id()}");
        Assert.Equal(2, again.GetProperty("cost").GetProperty("uncovered").GetInt32());
        Assert.Equal("applied", (await (await school.ApplyAsync(plan.Id())).JsonAsync()).Word("state"));
    }

    [Fact]
    public async Task A_stale_proposal_that_cannot_be_worked_out_again_says_why()
    {
        await using var school = await IllInstructor.StartAsync(postgres);
        var plan = await school.PlanAsync();
        foreach (var lesson in new[] { school.AtTen, school.AtTwo })
        {
            await (await school.Office.CancelAsync(lesson, "weather")).JsonAsync();
        }

        var refused = await school.ApplyAsync(plan.Id());
        var told = (await refused.JsonAsync(HttpStatusCode.Conflict)).Word("detail");
        Assert.Equal("proposal_stale", await refused.CodeAsync(HttpStatusCode.Conflict));
        Assert.StartsWith("The diary has changed since this was worked out, so nothing was done. No booked lessons lie in that time", told, StringComparison.Ordinal);
        Assert.DoesNotContain("worked out again", told, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_lesson_that_has_begun_since_makes_the_plan_stale()
    {
        await using var school = await IllInstructor.StartAsync(postgres);
        await school.Office.BookedAsync((await school.Host.Data.PupilAsync("Marlo Fenn")).Id, school.Marigold.Id, IllInstructor.At(16, 30));
        var plan = await school.PlanAsync();
        school.Host.Clock.Reset(IllInstructor.At(14, 10));
        using var office = await school.Host.ApiAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        var answer = await office.SendJsonAsync(HttpMethod.Post, $"/api/v1/covers/{plan.Id()}/apply", new { lines = new[] { school.AtTwo } });
        Assert.Equal("proposal_stale", await answer.CodeAsync(HttpStatusCode.Conflict));
        Assert.Equal(LessonState.Booked, (await school.LessonAsync(school.AtTwo)).State);
        var again = await office.GetJsonAsync($"/api/v1/covers/{plan.Id()}");
        Assert.DoesNotContain(school.AtTwo, again.GetProperty("lines").EnumerateArray().Select(line => line.Id("lessonId")));
    }

    [Fact]
    public async Task Cover_is_sought_from_the_day_of_the_lesson_where_the_absence_began_long_before()
    {
        await using var school = await IllInstructor.StartAsync(postgres);
        await school.Host.AddAsync(new TimeOffRow { InstructorId = school.Marigold.Id, StartsAt = IllInstructor.At(8) - NodaTime.Duration.FromDays(20), EndsAt = IllInstructor.At(18), Reason = "Flu" });
        using var browser = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        var attention = await (await browser.GetAsync("/diary/attention")).TextAsync();
        Assert.Contains($"/diary/covers?instructorId={school.Marigold.Id}&start=2026-03-03T00:00:00Z&end=2026-03-03T18:00:00Z", attention, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Of_two_who_carry_a_plan_out_at_once_on_two_nodes_one_does()
    {
        await using var school = await IllInstructor.StartAsync(postgres);
        await using var other = school.Host.SecondNode();
        using var second = other.CreateClient(new() { BaseAddress = new("https://localhost") });
        second.DefaultRequestHeaders.Authorization = school.Office.DefaultRequestHeaders.Authorization;
        var plan = await school.PlanAsync();
        var answers = await Task.WhenAll(school.ApplyAsync(plan.Id()), second.SendJsonAsync(HttpMethod.Post, $"/api/v1/covers/{plan.Id()}/apply"));
        Assert.Equal([HttpStatusCode.OK, HttpStatusCode.Conflict], answers.Select(answer => answer.StatusCode).Order());
        Assert.Equal(1, await school.Host.WithDbAsync(db => db.Set<TimeOffRow>().CountAsync()));
        Assert.Equal(3, (await school.LessonAsync(school.AtTen)).Version + (await school.LessonAsync(school.AtTwo)).Version - 1);
    }

    [Fact]
    public async Task An_instructor_whose_car_is_off_the_road_teaches_in_another_they_hold()
    {
        await using var school = await IllInstructor.StartAsync(postgres);
        var car = (await school.LessonAsync(school.AtTen)).CarId;
        var spare = await school.Host.Data.CarAsync(school.Marigold.Id);
        var plan = await (await school.AskAsync(new { carId = car, start = DiaryApi.Text(IllInstructor.At(8)), end = DiaryApi.Text(IllInstructor.At(18)), reason = "Clutch" }))
            .JsonAsync(HttpStatusCode.Created);
        Assert.Equal((0, 0), (plan.GetProperty("cost").GetProperty("uncovered").GetInt32(), plan.GetProperty("cost").GetProperty("changed").GetInt32()));
        await (await school.ApplyAsync(plan.Id())).JsonAsync();
        Assert.Equal((school.Marigold.Id, spare.Id), ((await school.LessonAsync(school.AtTen)).InstructorId, (await school.LessonAsync(school.AtTen)).CarId));
        var off = await school.Host.WithDbAsync(db => db.Set<OffRoadPeriod>().AsNoTracking().SingleAsync());
        Assert.Equal((car, IllInstructor.At(8), "Clutch"), (off.CarId, off.StartsAt, off.Reason));
    }

    [Fact]
    public async Task A_search_that_takes_long_goes_on_as_a_job_and_can_be_stopped()
    {
        await using var school = await IllInstructor.StartAsync(postgres, ("School:Cover:AtOnceSeconds", "0"));
        var (plan, dropped) = (await school.PlanAsync(), await school.PlanAsync());
        Assert.Equal("working", plan.Word("state"));
        Assert.Equal("proposal_not_ready", await (await school.ApplyAsync(plan.Id())).CodeAsync(HttpStatusCode.Conflict));
        Assert.Equal(HttpStatusCode.NoContent, (await school.Office.DeleteAsync($"/api/v1/covers/{dropped.Id()}")).StatusCode);

        await using var scope = school.Host.Services.CreateAsyncScope();
        var work = scope.ServiceProvider.GetRequiredService<WorkOutProposals>();
        await work.RunAsync(plan.Id(), CancellationToken.None);
        await work.RunAsync(dropped.Id(), CancellationToken.None);
        Assert.Equal(ProposalState.Stopped, (await school.KeptAsync(dropped.Id())).State);
        var ready = await school.Office.GetJsonAsync($"/api/v1/covers/{plan.Id()}");
        Assert.Equal(("proposed", 1), (ready.Word("state"), ready.GetProperty("cost").GetProperty("uncovered").GetInt32()));
        Assert.Equal("applied", (await (await school.ApplyAsync(plan.Id())).JsonAsync()).Word("state"));
    }

    [Fact]
    public async Task A_school_with_nobody_else_is_told_that_nobody_can_cover()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.BookedAsync(school.PupilId, school.InstructorId, IllInstructor.At(10));
        var answer = await school.Office.SendJsonAsync(
            HttpMethod.Post, "/api/v1/covers", new { instructorId = school.InstructorId, start = DiaryApi.Text(IllInstructor.At(8)), end = DiaryApi.Text(IllInstructor.At(18)) });
        Assert.Equal("nobody_to_cover", await answer.CodeAsync(HttpStatusCode.UnprocessableEntity));
    }

    [Fact]
    public async Task What_cannot_be_asked_is_refused_in_words()
    {
        await using var school = await IllInstructor.StartAsync(postgres);
        var (id, start, end) = (school.Marigold.Id, DiaryApi.Text(IllInstructor.At(8)), DiaryApi.Text(IllInstructor.At(18)));
        Assert.Equal("invalid", await (await school.AskAsync(new { start, end })).CodeAsync(HttpStatusCode.BadRequest));
        Assert.Equal("invalid", await (await school.AskAsync(new { instructorId = id, carId = Guid.NewGuid(), start, end })).CodeAsync(HttpStatusCode.BadRequest));
        Assert.Equal("invalid", await (await school.AskAsync(new { instructorId = id, start = end, end = start })).CodeAsync(HttpStatusCode.BadRequest));
        Assert.Equal("invalid", await (await school.AskAsync(new { instructorId = id, start = "2026-03-01T08:00:00Z", end = "2026-03-01T18:00:00Z" })).CodeAsync(HttpStatusCode.BadRequest));
        Assert.Equal("invalid", await (await school.AskAsync(new { instructorId = id, start, end = "2026-04-30T18:00:00Z" })).CodeAsync(HttpStatusCode.BadRequest));
        Assert.Equal("invalid", await (await school.AskAsync(new { instructorId = id, start, end, mayMoveMinutes = -1 })).CodeAsync(HttpStatusCode.BadRequest));
        Assert.Equal("not_found", await (await school.AskAsync(new { instructorId = Guid.NewGuid(), start, end })).CodeAsync(HttpStatusCode.NotFound));
        Assert.Equal("not_found", await (await school.AskAsync(new { carId = Guid.NewGuid(), start, end })).CodeAsync(HttpStatusCode.NotFound));
        Assert.Equal("nothing_to_cover", await (await school.AskAsync(new { instructorId = id, start, end = DiaryApi.Text(IllInstructor.At(9)) })).CodeAsync(HttpStatusCode.UnprocessableEntity));
        var plan = await school.PlanAsync();
        Assert.Equal("invalid", await (await school.ApplyAsync(plan.Id(), Guid.NewGuid())).CodeAsync(HttpStatusCode.BadRequest));
        Assert.Equal("not_found", await (await school.ApplyAsync(Guid.NewGuid())).CodeAsync(HttpStatusCode.NotFound));
    }

    [Fact]
    public async Task Whose_lesson_is_covered_and_who_has_no_e_mail_is_told_by_somebody()
    {
        await using var school = await IllInstructor.StartAsync(postgres);
        await school.Host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Id == school.Tamsin.Id).ExecuteUpdateAsync(set => set.SetProperty(p => p.Email, "")));
        var plan = (await school.PlanAsync()).Id();
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        var url = $"/diary/covers/{plan}";
        Assert.Equal(HttpStatusCode.Redirect, (await office.PostFormAsync(url, $"{url}?handler=Apply", ("take", $"{school.AtTen}"), ("seen", "1"))).StatusCode);
        var text = await (await office.GetAsync(url)).TextAsync();
        Assert.Contains("Whoever has an e-mail address is being told. Tamsin Oakley has no e-mail address: tell them yourself", text, StringComparison.Ordinal);
        Assert.DoesNotContain("Everybody concerned", text, StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_page_keeps_what_was_typed_and_says_what_is_wrong()
    {
        await using var school = await IllInstructor.StartAsync(postgres);
        using var browser = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync());
        var wrong = await (await browser.PostFormAsync(
            "/diary/covers", ("Input.Who", $"instructor:{school.Marigold.Id}"), ("Input.FirstDay", "2026-03-03"), ("Input.LastDay", "2026-03-02"), ("Input.Reason", "Flu"), ("Input.MayMove", "0"))).TextAsync();
        Assert.Contains("The last day must not be before the first.", wrong, StringComparison.Ordinal);
        Assert.Contains("value=\"Flu\"", wrong, StringComparison.Ordinal);
        var empty = await (await browser.PostFormAsync("/diary/covers", ("Input.FirstDay", "2026-03-03"))).TextAsync();
        Assert.Contains("Choose the instructor who is ill or the car that is off the road.", empty, StringComparison.Ordinal);

        var made = await browser.PostFormAsync("/diary/covers", ("Input.Who", $"instructor:{school.Marigold.Id}"), ("Input.FirstDay", "2026-03-03"), ("Input.MayMove", "0"));
        var page = made.Headers.Location!.ToString();
        var shown = await (await browser.GetAsync(page)).TextAsync();
        Assert.Contains("1 of 2 lessons can be covered, at the time booked", shown, StringComparison.Ordinal);
        Assert.Contains("Bram Holt: ", shown, StringComparison.Ordinal);
        var none = await (await browser.PostFormAsync(page, $"{page}?handler=Apply")).TextAsync();
        Assert.Contains("Tick at least one lesson.", none, StringComparison.Ordinal);
        var done = await browser.PostFormAsync(page, $"{page}?handler=Apply", ("take", $"{school.AtTen}"));
        Assert.Equal(HttpStatusCode.Redirect, done.StatusCode);
        Assert.Contains("This was carried out", await (await browser.GetAsync(page)).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_page_ticks_no_cancellation_and_names_what_happens_and_keeps_before_and_after()
    {
        await using var school = await IllInstructor.StartAsync(postgres);
        using var browser = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        var page = $"/diary/covers/{(await school.PlanAsync()).Id()}";
        var shown = await (await browser.GetAsync(page)).TextAsync();
        Assert.Matches($"id=\"take-{school.AtTen}\"[^>]* checked=\"checked\"", shown);
        Assert.DoesNotMatch($"id=\"take-{school.AtTwo}\"[^>]* checked", shown);
        Assert.Contains(">Move 1 lesson</button>", shown, StringComparison.Ordinal);
        Assert.DoesNotContain("Carry out what is ticked", shown, StringComparison.Ordinal);

        // Ticked besides, a cancellation is asked once more, and by its own name.
        (string, string)[] both = [("take", $"{school.AtTen}"), ("take", $"{school.AtTwo}"), ("seen", "1"), ("said", "1:0")];
        var asked = await (await browser.PostFormAsync(page, $"{page}?handler=Apply", both)).TextAsync();
        Assert.Contains("Move 1 lesson and cancel 1?", asked, StringComparison.Ordinal);
        Assert.Equal(LessonState.Booked, (await school.LessonAsync(school.AtTwo)).State);
        Assert.Equal(HttpStatusCode.Redirect, (await browser.PostFormAsync(page, $"{page}?handler=Apply", [.. both[..3], ("said", "1:1"), ("sure", "true")])).StatusCode);

        var done = await (await browser.GetAsync(page)).TextAsync();
        Assert.Contains("1 lesson moved, 1 cancelled.", done, StringComparison.Ordinal);
        Assert.Contains("Marigold Ashby, ", done[done.IndexOf("As booked", StringComparison.Ordinal)..], StringComparison.Ordinal);
        Assert.Contains("Bram Holt, ", done, StringComparison.Ordinal);
        Assert.Contains("■ cancelled", done, StringComparison.Ordinal);
    }

    [Fact]
    public async Task What_is_left_out_stays_in_the_picture_as_it_was()
    {
        await using var school = await IllInstructor.StartAsync(postgres);
        using var browser = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        var plan = (await school.PlanAsync()).Id();
        await (await school.ApplyAsync(plan, school.AtTen)).JsonAsync();
        var done = await (await browser.GetAsync($"/diary/covers/{plan}")).TextAsync();
        Assert.Contains("left as it was", done, StringComparison.Ordinal);
        Assert.Equal(1, (await school.Office.GetJsonAsync($"/api/v1/covers/{plan}")).GetProperty("lines").GetArrayLength());
    }

    [Fact]
    public async Task Another_time_is_ticked_only_where_the_pupil_stated_that_they_can_come_then()
    {
        await using var school = await IllInstructor.StartAsync(postgres);
        using var browser = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        async Task<bool> TickedAsync() => Regex.IsMatch(
            await (await browser.GetAsync($"/diary/covers/{(await school.PlanAsync(mayMoveMinutes: 120)).Id()}")).TextAsync(), $"id=\"take-{school.AtTwo}\"[^>]* checked");
        Assert.False(await TickedAsync());
        var pupil = (await school.LessonAsync(school.AtTwo)).PupilId;
        await (await school.Office.SendJsonAsync(HttpMethod.Put, $"/api/v1/pupils/{pupil}/availability", new { times = new[] { new { day = "tuesday", from = "10:00", to = "15:30" } } }, etag: "*")).JsonAsync();
        Assert.True(await TickedAsync());
    }

    [Fact]
    public async Task Time_off_and_a_car_off_the_road_over_lessons_and_what_needs_attention_lead_straight_to_cover()
    {
        await using var school = await IllInstructor.StartAsync(postgres);
        using var browser = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        var off = $"/diary/time-off?instructorId={school.Marigold.Id}";
        var entered = await browser.PostFormAsync(off, ("Input.FirstDay", "2026-03-03"), ("Input.FromTime", "09:00"), ("Input.UntilTime", "12:00"), ("Input.Reason", "flu"));
        var address = entered.Headers.Location!.ToString();
        Assert.StartsWith($"/diary/covers?instructorId={school.Marigold.Id}&start=2026-03-03T09:00:00Z&end=2026-03-03T12:00:00Z", address, StringComparison.Ordinal);
        var form = await (await browser.GetAsync(address)).TextAsync();
        Assert.All(["value=\"2026-03-03\"", "value=\"flu\"", "12:00", "1 booked lesson in it"], words => Assert.Contains(words, form, StringComparison.Ordinal));

        var attention = await (await browser.GetAsync("/diary/attention")).TextAsync();
        Assert.Contains($"/diary/covers?instructorId={school.Marigold.Id}&start=2026-03-03T09:00:00Z&end=2026-03-03T12:00:00Z", attention, StringComparison.Ordinal);
        Assert.Contains("Find cover", attention, StringComparison.Ordinal);

        var car = (await school.LessonAsync(school.AtTwo)).CarId;
        var road = $"/cars/{car}/off-road";
        var taken = await browser.PostFormAsync(road, ("Reason", "Clutch"), ("FromDay", "2026-03-03"), ("FromTime", "13:00"), ("UntilDay", "2026-03-03"), ("UntilTime", "16:00"));
        Assert.StartsWith($"/diary/covers?carId={car}&start=2026-03-03T13:00:00Z&end=2026-03-03T16:00:00Z&reason=Clutch", taken.Headers.Location!.ToString(), StringComparison.Ordinal);
        // Where no lesson needs it, nobody is led anywhere.
        var free = await browser.PostFormAsync(road, ("Reason", "Wash"), ("FromDay", "2026-03-04"), ("FromTime", "13:00"), ("UntilDay", "2026-03-04"), ("UntilTime", "16:00"));
        Assert.Equal(road, free.Headers.Location!.ToString());
    }

    private static List<string?> CodesOf(JsonElement line, params Guid[] instructors)
    {
        var codes = line.GetProperty("whyNot").EnumerateArray().ToDictionary(why => why.Id("instructorId"), why => why.Word("code"));
        return [.. instructors.Select(id => codes[id])];
    }
}
