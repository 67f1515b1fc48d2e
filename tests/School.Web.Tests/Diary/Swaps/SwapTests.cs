using System.Net;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.Diary.Swaps;
using School.Web.Modules.Diary.Waiting;
using School.Web.Modules.Messages;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.Swaps.SwapSchool;

namespace School.Web.Tests.Diary.Swaps;

public sealed class SwapTests(TestPostgres postgres)
{
    [Fact]
    public async Task Nothing_moves_before_both_pupils_agree_and_then_both_lessons_change_places_in_one_act()
    {
        await using var school = await StartAsync(postgres);
        var swap = await school.SwapAsync();
        Assert.Equal("proposed", swap.Word("state"));
        var lines = swap.GetProperty("lines").EnumerateArray().ToDictionary(line => line.Id("lessonId"));
        Assert.Equal((school.Bram.Id, At(13, 30)), (lines[school.Ten].Id("instructorId"), lines[school.Ten].Moment("start")));
        Assert.Equal((school.Marigold.Id, At(10)), (lines[school.HalfPastOne].Id("instructorId"), lines[school.HalfPastOne].Moment("start")));
        Assert.All(lines.Values, line => Assert.Equal(("move", "free_school"), (line.Word("act"), line.GetProperty("charge").Word("code"))));
        Assert.Equal(AsBooked, await school.PlacesAsync());

        var one = await (await AcceptAsync(school.AsTamsin, swap.Id())).JsonAsync();
        Assert.Equal("proposed", one.Word("state"));
        Assert.Equal(AsBooked, await school.PlacesAsync());

        var both = await (await AcceptAsync(school.AsWren, swap.Id())).JsonAsync();
        Assert.Equal("applied", both.Word("state"));
        Assert.Equal(Swapped, await school.PlacesAsync());
        Assert.All(new[] { await school.LessonAsync(school.Ten), await school.LessonAsync(school.HalfPastOne) }, lesson => Assert.False(lesson.Charge!.Chargeable));

        // One letter each about the move, nobody on the waiting list, and the history says what it was.
        var moved = await school.Host.SaidAsync(all => all.Where(m => m.Kind == "lesson_moved" || m.Kind == "lessons_changed").OrderBy(m => m.ToName));
        Assert.Equal(["Bram Holt", "Marigold Ashby", "Tamsin Oakley", "Wren Castellan"], moved.Select(m => m.ToName));
        Assert.Equal(0, await school.Host.WithDbAsync(db => db.Set<FreedSlot>().CountAsync()));
        var history = (await school.Office.GetJsonAsync($"/api/v1/lessons/{school.Ten}/history")).GetProperty("items").EnumerateArray().Last();
        Assert.StartsWith("Swap, agreed with the pupil: moved from", history.Word("words"), StringComparison.Ordinal);
        Assert.Equal("The service", history.Word("by"));
    }

    [Fact]
    public async Task Two_lessons_of_one_instructor_change_places_too()
    {
        await using var school = await StartAsync(postgres);
        var swap = await school.SwapAsync(school.Ten, school.Two, school.Ten, school.Two);
        Assert.Equal(AsBooked, await school.PlacesAsync());
        Assert.Equal("applied", (await (await school.ApplyAsync(swap.Id())).JsonAsync()).Word("state"));
        Assert.Equal("Marigold 14:00 60 Booked; Marigold 10:00 60 Booked; Bram 13:30 120 Booked", await school.PlacesAsync());
        Assert.All(await school.AnswersAsync(swap.Id()), answer => Assert.Equal(("Agreed", "Phone", "Rosalind Pike"), ($"{answer.Reply}", $"{answer.How}", answer.ByName)));
        Assert.DoesNotContain(await school.LettersAsync(swap.Id()), letter => letter.Kind == "swap_asked");
    }

    [Fact]
    public async Task Staff_carry_it_out_only_once_both_agree_or_where_they_say_that_they_rang()
    {
        await using var school = await StartAsync(postgres);
        var swap = (await school.SwapAsync(agreed: [school.Ten])).Id();
        Assert.Equal(["Wren Castellan"], (await school.LettersAsync(swap)).Select(letter => letter.ToName));
        Assert.Equal("pupils_not_asked", await (await school.ApplyAsync(swap)).CodeAsync(HttpStatusCode.UnprocessableEntity));
        Assert.Equal("swap_is_whole", await (await school.ApplyAsync(swap, new { lines = new[] { school.Ten }, asked = true })).CodeAsync(HttpStatusCode.UnprocessableEntity));
        Assert.Equal(AsBooked, await school.PlacesAsync());
        await (await school.ApplyAsync(swap, new { asked = true })).JsonAsync();
        Assert.Equal(Swapped, await school.PlacesAsync());
        // Who had been asked is asked no more, and that they agreed by phone is kept.
        var asked = Assert.Single(await school.LettersAsync(swap));
        Assert.Equal(MessageState.Withdrawn, asked.Row.State);
        Assert.All(await school.AnswersAsync(swap), answer => Assert.False(answer.Open));
        Assert.Equal(2, (await school.AnswersAsync(swap)).Count(answer => answer is { Reply: SwapReply.Agreed, How: SwapHow.Phone }));
        Assert.Equal("proposal_applied", await (await school.ApplyAsync(swap, new { asked = true })).CodeAsync(HttpStatusCode.Conflict));
    }

    [Fact]
    public async Task A_yes_by_phone_is_noted_for_one_lesson_and_the_last_one_swaps()
    {
        await using var school = await StartAsync(postgres);
        var swap = (await school.SwapAsync()).Id();
        Assert.Equal(["lessonId"], await (await AcceptAsync(school.Office, swap)).WrongFieldsAsync());
        Assert.Equal("proposed", (await (await AcceptAsync(school.Office, swap, school.HalfPastOne)).JsonAsync()).Word("state"));
        Assert.Equal("swap_answered", await (await AcceptAsync(school.Office, swap, school.HalfPastOne)).CodeAsync(HttpStatusCode.Conflict));
        await (await AcceptAsync(school.AsTamsin, swap)).JsonAsync();
        Assert.Equal(Swapped, await school.PlacesAsync());
        var answers = (await school.ReadAsync(swap)).GetProperty("answers").EnumerateArray().ToDictionary(a => a.Id("lessonId"), a => a.Word("how"));
        Assert.Equal(("pupil", "phone"), (answers[school.Ten], answers[school.HalfPastOne]));
    }

    [Fact]
    public async Task A_no_drops_it_and_the_other_pupil_hears_that_their_lesson_stays()
    {
        await using var school = await StartAsync(postgres);
        var swap = (await school.SwapAsync()).Id();
        await (await AcceptAsync(school.AsTamsin, swap)).JsonAsync();
        Assert.Equal("stopped", (await (await DeclineAsync(school.AsWren, swap)).JsonAsync()).Word("state"));
        var off = Assert.Single(await school.LettersAsync(swap), letter => letter.Kind == "swap_off");
        Assert.Equal("Tamsin Oakley", off.ToName);
        Assert.DoesNotContain("no", off.Text.Split(' '));
        Assert.Equal("swap_off", await (await AcceptAsync(school.AsTamsin, swap)).CodeAsync(HttpStatusCode.Conflict));
        Assert.Equal("proposal_stopped", await (await school.ApplyAsync(swap, new { asked = true })).CodeAsync(HttpStatusCode.Conflict));
        Assert.Equal(AsBooked, await school.PlacesAsync());
        // Who said yes may say no while nothing has moved; and the lessons are free for another swap.
        var again = (await school.SwapAsync()).Id();
        await (await AcceptAsync(school.AsTamsin, again)).JsonAsync();
        Assert.Equal("declined", (await (await DeclineAsync(school.AsTamsin, again)).JsonAsync()).GetProperty("answers")[0].Word("answer"));
        Assert.Equal("declined", (await school.ReadAsync(again)).Word("ended"));
        Assert.Equal(AsBooked, await school.PlacesAsync());
    }

    [Fact]
    public async Task Dropped_by_staff_it_frees_both_lessons_and_whoever_was_asked_hears_of_it()
    {
        await using var school = await StartAsync(postgres);
        var swap = (await school.SwapAsync()).Id();
        Assert.Equal(HttpStatusCode.NoContent, (await school.Office.DeleteAsync($"{Address}/{swap}")).StatusCode);
        Assert.Equal(HttpStatusCode.NoContent, (await school.Office.DeleteAsync($"{Address}/{swap}")).StatusCode);
        Assert.Equal(["Tamsin Oakley", "Wren Castellan"], (await school.LettersAsync(swap)).Where(letter => letter.Kind == "swap_off").Select(letter => letter.ToName));
        Assert.Equal("swap_off", await (await AcceptAsync(school.AsTamsin, swap)).CodeAsync(HttpStatusCode.Conflict));
        await school.SwapAsync();
    }

    [Fact]
    public async Task It_lapses_after_a_day_and_who_had_said_yes_hears_of_it()
    {
        await using var school = await StartAsync(postgres);
        // Both a week later, so that the day ends it and not the lessons.
        foreach (var id in new[] { school.Ten, school.HalfPastOne })
        {
            var lesson = await school.LessonAsync(id);
            await (await school.Office.MoveAsync(id, lesson.StartsAt + Duration.FromDays(7))).JsonAsync();
        }

        var swap = await school.SwapAsync();
        var now = school.Host.Clock.GetCurrentInstant();
        Assert.Equal(now + Duration.FromHours(24), swap.Moment("lapsesAt"));
        await (await AcceptAsync(school.AsTamsin, swap.Id())).JsonAsync();
        school.Host.Clock.Reset(now + Duration.FromHours(24) - Duration.FromSeconds(1));
        await school.LapseAsync();
        Assert.Equal("proposed", (await school.ReadAsync(swap.Id())).Word("state"));
        school.Host.Clock.Reset(now + Duration.FromHours(24));
        using var office = await school.Host.ApiAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        // No answer counts any more, before the job has been there and after it.
        Assert.Equal("swap_lapsed", await (await AcceptAsync(office, swap.Id(), school.HalfPastOne)).CodeAsync(HttpStatusCode.Conflict));
        Assert.Equal("swap_lapsed", await (await office.SendJsonAsync(HttpMethod.Post, $"{Address}/{swap.Id()}/apply", new { asked = true })).CodeAsync(HttpStatusCode.Conflict));
        await Task.WhenAll(school.LapseAsync(), school.LapseAsync());
        Assert.Equal("swap_lapsed", await (await AcceptAsync(office, swap.Id(), school.HalfPastOne)).CodeAsync(HttpStatusCode.Conflict));
        var off = Assert.Single(await school.LettersAsync(swap.Id()), letter => letter.Kind == "swap_off");
        Assert.Equal("Tamsin Oakley", off.ToName);
        Assert.Contains("not settled in time", off.Text, StringComparison.Ordinal);
    }

    [Fact]
    public async Task It_lapses_two_hours_before_the_first_lesson_and_nearer_than_that_pupils_are_rung()
    {
        await using var school = await StartAsync(postgres);
        Assert.Equal(At(8), (await school.SwapAsync()).Moment("lapsesAt"));
        school.Host.Clock.Reset(At(8));
        using var office = await school.Host.ApiAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        await school.LapseAsync();
        object Ask(params Guid[] agreed) => new { lessonId = school.Ten, withLessonId = school.HalfPastOne, agreed };
        Assert.Equal("too_late_to_ask", await (await school.AskAsync(Ask(school.Ten), office)).CodeAsync(HttpStatusCode.UnprocessableEntity));
        var swap = await (await school.AskAsync(Ask(school.Ten, school.HalfPastOne), office)).JsonAsync(HttpStatusCode.Created);
        Assert.Equal(At(10), swap.Moment("lapsesAt"));
        await (await office.SendJsonAsync(HttpMethod.Post, $"{Address}/{swap.Id()}/apply")).JsonAsync();
        Assert.Equal(Swapped, await school.PlacesAsync());
    }

    [Fact]
    public async Task What_makes_no_sense_is_refused_and_an_instructor_swaps_within_their_own_diary()
    {
        await using var school = await StartAsync(postgres);
        async Task<string> WrongAsync(Guid lesson, Guid with, HttpStatusCode status = HttpStatusCode.UnprocessableEntity, HttpClient? by = null) =>
            await (await school.AskAsync(new { lessonId = lesson, withLessonId = with }, by)).CodeAsync(status);
        Assert.Equal("swap_same_lesson", await WrongAsync(school.Ten, school.Ten));
        Assert.Equal("not_found", await WrongAsync(school.Ten, Guid.NewGuid(), HttpStatusCode.NotFound));
        var second = (await school.Office.BookedAsync(school.Tamsin.Id, school.Marigold.Id, At(16))).Id();
        Assert.Equal("swap_same_pupil", await WrongAsync(school.Ten, second));
        Assert.Equal(["agreed"], await (await school.AskAsync(new { lessonId = school.Ten, withLessonId = school.Two, agreed = new[] { second } })).WrongFieldsAsync());
        await (await school.Office.CancelAsync(second)).JsonAsync();
        Assert.Equal("lesson_closed", await WrongAsync(second, school.Two, HttpStatusCode.Conflict));

        using var marigold = await school.Host.ApiAsAsync(await school.Host.Data.PersonAsync(school.Marigold));
        Assert.Equal("not_found", await WrongAsync(school.Ten, school.HalfPastOne, HttpStatusCode.NotFound, marigold));
        var own = await (await school.AskAsync(new { lessonId = school.Ten, withLessonId = school.Two }, marigold)).JsonAsync(HttpStatusCode.Created);
        Assert.Equal(own.Id(), (await school.ReadAsync(own.Id(), marigold)).Id());
        using var bram = await school.Host.ApiAsAsync(await school.Host.Data.PersonAsync(school.Bram));
        Assert.Equal(HttpStatusCode.NotFound, (await bram.GetAsync($"{Address}/{own.Id()}")).StatusCode);
        Assert.Equal("not_found", await (await AcceptAsync(bram, own.Id(), school.Ten)).CodeAsync(HttpStatusCode.NotFound));
        Assert.Equal(HttpStatusCode.Forbidden, (await school.AskAsync(new { lessonId = school.Ten, withLessonId = school.Two }, school.AsTamsin)).StatusCode);
        school.Host.Clock.Reset(At(10, 10));
        using var office = await school.Host.ApiAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        Assert.Equal("lesson_begun", await WrongAsync(school.Ten, school.HalfPastOne, by: office));
    }

    [Fact]
    public async Task A_lesson_in_an_open_swap_is_not_asked_about_again_and_the_refusal_leads_there()
    {
        await using var school = await StartAsync(postgres);
        var swap = (await school.SwapAsync()).Id();
        var held = await (await school.AskAsync(new { lessonId = school.Two, withLessonId = school.HalfPastOne })).JsonAsync(HttpStatusCode.Conflict);
        Assert.Equal(("swap_open", $"/diary/swaps/{swap}"), (held.Word("code"), held.Word("page")));
    }
}
