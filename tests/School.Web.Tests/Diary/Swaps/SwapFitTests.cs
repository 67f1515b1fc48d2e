using System.Net;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Cars;
using School.Tests;
using School.Web.Modules.Diary.Swaps;
using School.Web.Modules.Pupils;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.Swaps.SwapSchool;

namespace School.Web.Tests.Diary.Swaps;

/// <summary>What does not fit is not asked; what does not fit any more moves nothing; and of whatever happens at once, everything or nothing is done.</summary>
public sealed class SwapFitTests(TestPostgres postgres)
{
    [Fact]
    public async Task What_cannot_be_says_why_on_its_line_and_nobody_is_asked()
    {
        await using var school = await StartAsync(postgres);
        await school.Host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Id == school.Tamsin.Id).ExecuteUpdateAsync(set => set.SetProperty(p => p.Gearbox, Gearbox.Automatic)));
        var swap = await school.SwapAsync();
        var lines = swap.GetProperty("lines").EnumerateArray().ToDictionary(line => line.Id("lessonId"), line => (Act: line.Word("act"), Why: line.GetProperty("whyNot")[0].Word("code")));
        Assert.Equal(("none", "no_suitable_car"), lines[school.Ten]);
        Assert.Equal(("none", "swap_other_stays"), lines[school.HalfPastOne]);
        Assert.Empty(swap.GetProperty("answers").EnumerateArray());
        Assert.Empty(await school.LettersAsync(swap.Id()));
        var refused = await (await school.ApplyAsync(swap.Id(), new { asked = true })).JsonAsync(HttpStatusCode.UnprocessableEntity);
        Assert.Equal("swap_cannot_be", refused.Word("code"));
        Assert.Equal(HttpStatusCode.NotFound, (await AcceptAsync(school.AsTamsin, swap.Id())).StatusCode);
        Assert.Equal(AsBooked, await school.PlacesAsync());
    }

    [Fact]
    public async Task Lessons_of_different_length_that_would_overlap_stay()
    {
        await using var school = await StartAsync(postgres);
        var longer = (await school.Office.BookedAsync(school.Wren.Id, school.Marigold.Id, At(11, 5), 120)).Id();
        var swap = await school.SwapAsync(school.Ten, longer);
        Assert.All(swap.GetProperty("lines").EnumerateArray(), line => Assert.Equal("swap_overlaps", line.GetProperty("whyNot")[0].Word("code")));
    }

    /// <summary>Each alone would fit where the other is; it is the drive from the one to the other that does not.</summary>
    [Fact]
    public async Task Both_are_judged_where_both_stand_afterwards()
    {
        await using var school = await StartAsync(postgres);
        async Task<Guid> BookAsync(Guid pupil, Instant start, double pickUpNorth)
        {
            var (pickUp, dropOff) = (TestData.PlaceAt(pickUpNorth), TestData.PlaceAt());
            var booked = await school.Office.SendJsonAsync(HttpMethod.Post, "/api/v1/lessons", new
            {
                pupilId = pupil,
                instructorId = school.Marigold.Id,
                start = DiaryApi.Text(start),
                minutes = 60,
                pickUp = new { label = "Far up", address = "1 Weir Road", latitude = pickUp.Latitude, longitude = pickUp.Longitude },
                dropOff = new { label = "Home", address = "12 Mill Lane", latitude = dropOff.Latitude, longitude = dropOff.Longitude },
            });
            return (await booked.JsonAsync(HttpStatusCode.Created)).Id();
        }

        // Sixty steps are ten kilometres: no quarter of an hour.
        var (far, near) = (await BookAsync(school.Wren.Id, At(15, 45), 60), await BookAsync(school.Tamsin.Id, At(17), 0));
        var swap = await school.SwapAsync(far, near);
        Assert.All(swap.GetProperty("lines").EnumerateArray(), line => Assert.Equal("none", line.Word("act")));
        Assert.Empty(swap.GetProperty("answers").EnumerateArray());
        Assert.Equal((At(15, 45), At(17)), ((await school.LessonAsync(far)).StartsAt, (await school.LessonAsync(near)).StartsAt));
        // With no drive between them they may.
        await (await school.Office.CancelAsync(far, "other")).JsonAsync();
        var beside = await BookAsync(school.Wren.Id, At(15, 45), 0);
        Assert.All((await school.SwapAsync(beside, near)).GetProperty("lines").EnumerateArray(), line => Assert.Equal("move", line.Word("act")));
    }

    [Theory]
    [InlineData("moved", "lesson_changed")]
    [InlineData("cancelled", "lesson_closed")]
    public async Task Staff_do_not_carry_out_what_was_agreed_about_a_lesson_that_changed(string how, string code)
    {
        await using var school = await StartAsync(postgres);
        var swap = (await school.SwapAsync(agreed: [school.Ten, school.HalfPastOne])).Id();
        await (how == "moved" ? await school.Office.MoveAsync(school.Ten, At(8)) : await school.Office.CancelAsync(school.Ten, "other")).JsonAsync();
        var before = await school.PlacesAsync();
        Assert.Equal(code, await (await school.ApplyAsync(swap, new { asked = true })).CodeAsync(HttpStatusCode.Conflict));
        Assert.Equal(before, await school.PlacesAsync());
    }

    [Fact]
    public async Task A_diary_that_has_changed_but_still_has_room_does_not_stop_it()
    {
        await using var school = await StartAsync(postgres);
        var swap = (await school.SwapAsync()).Id();
        await school.Office.BookedAsync(school.Idris.Id, school.Marigold.Id, At(16, 30));
        Assert.Equal("proposed", (await school.ReadAsync(swap)).Word("state"));
        await (await AcceptAsync(school.AsTamsin, swap)).JsonAsync();
        await (await AcceptAsync(school.AsWren, swap)).JsonAsync();
        Assert.Equal(Swapped, await school.PlacesAsync());
    }

    [Fact]
    public async Task Where_it_does_not_fit_any_more_the_last_yes_moves_nothing_and_both_hear_why()
    {
        await using var school = await StartAsync(postgres);
        var swap = (await school.SwapAsync()).Id();
        await (await AcceptAsync(school.AsTamsin, swap)).JsonAsync();
        // Marigold is booked from 11:15: two hours from ten no longer fit.
        await school.Office.BookedAsync(school.Idris.Id, school.Marigold.Id, At(11, 30));
        var answer = await (await AcceptAsync(school.AsWren, swap)).JsonAsync(HttpStatusCode.Conflict);
        Assert.Equal("swap_no_longer_fits", answer.Word("code"));
        Assert.StartsWith("The swap can no longer be done, so your lesson stays as it is.", answer.Word("detail"), StringComparison.Ordinal);
        Assert.Equal(AsBooked, await school.PlacesAsync());
        var kept = await school.ReadAsync(swap);
        Assert.Equal(("stopped", "noLongerFits"), (kept.Word("state"), kept.Word("ended")));
        Assert.Contains(kept.GetProperty("lines").EnumerateArray(), line => line.GetProperty("whyNot").GetArrayLength() > 0);
        Assert.Equal(["Tamsin Oakley"], (await school.LettersAsync(swap)).Where(letter => letter.Kind == "swap_off").Select(letter => letter.ToName));
        await school.SwapAsync(school.Ten, school.Two);
    }

    [Theory]
    [InlineData("moved")]
    [InlineData("cancelled")]
    [InlineData("retired")]
    public async Task A_lesson_that_changed_meanwhile_ends_it_by_the_next_answer_or_by_itself(string how)
    {
        await using var school = await StartAsync(postgres);
        foreach (var byJob in new[] { false, true })
        {
            var lesson = (await school.Office.BookedAsync(school.Tamsin.Id, school.Marigold.Id, At(15, 30))).Id();
            var swap = (await school.SwapAsync(lesson, school.HalfPastOne, lesson)).Id();
            if (how == "moved")
            {
                await (await school.Office.MoveAsync(lesson, At(8))).JsonAsync();
            }
            else
            {
                await (await school.Office.CancelAsync(lesson, "other")).JsonAsync();
            }

            if (how == "retired")
            {
                await school.Host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Id == school.Tamsin.Id).ExecuteUpdateAsync(set => set.SetProperty(p => p.RetiredOn, new LocalDate(2026, 3, 2))));
            }

            if (byJob)
            {
                await school.LapseAsync();
            }
            else
            {
                Assert.Equal("swap_no_longer_fits", await (await AcceptAsync(school.AsWren, swap)).CodeAsync(HttpStatusCode.Conflict));
            }

            Assert.Equal("noLongerFits", (await school.ReadAsync(swap)).Word("ended"));
            Assert.Equal((school.Bram.Id, At(13, 30)), ((await school.LessonAsync(school.HalfPastOne)).InstructorId, (await school.LessonAsync(school.HalfPastOne)).StartsAt));
            await school.Host.WithDbAsync(db => db.Set<Pupil>().ExecuteUpdateAsync(set => set.SetProperty(p => p.RetiredOn, (LocalDate?)null)));
            if (how == "moved")
            {
                await (await school.Office.CancelAsync(lesson, "other")).JsonAsync();
            }
        }
    }

    [Fact]
    public async Task Two_who_ask_about_the_same_lesson_at_once_make_one_swap()
    {
        await using var school = await StartAsync(postgres);
        var answers = await Task.WhenAll(Enumerable.Range(0, 8).Select(n => school.AskAsync(new { lessonId = n % 2 == 0 ? school.Ten : school.Two, withLessonId = school.HalfPastOne })));
        Assert.Single(answers, answer => answer.StatusCode == HttpStatusCode.Created);
        foreach (var answer in answers.Where(answer => answer.StatusCode != HttpStatusCode.Created))
        {
            Assert.Equal("swap_open", await answer.CodeAsync(HttpStatusCode.Conflict));
        }

        Assert.Equal(2, await school.Host.WithDbAsync(db => db.Set<SwapAnswer>().CountAsync(a => a.Open)));
    }

    [Fact]
    public async Task The_table_itself_holds_a_lesson_for_one_open_swap()
    {
        await using var school = await StartAsync(postgres);
        var fourth = (await school.Office.BookedAsync(school.Tamsin.Id, school.Marigold.Id, At(16))).Id();
        var (one, other) = ((await school.SwapAsync()).Id(), (await school.SwapAsync(school.Two, fourth)).Id());
        var answer = (await school.AnswersAsync(one))[0];
        var failure = await Assert.ThrowsAsync<Npgsql.PostgresException>(() => school.Host.WithDbAsync(db => db.Set<SwapAnswer>().Where(a => a.ProposalId == other && a.LessonId == school.Two)
            .ExecuteUpdateAsync(set => set.SetProperty(a => a.LessonId, answer.LessonId))));
        Assert.Equal("swap_answers_open_once", failure.ConstraintName);
    }

    /// <summary>Both pupils answer, staff ring, carry out and drop, and the lapsing job runs, all at once and in every mixture: in the end either both lessons moved and both said yes, or neither moved.</summary>
    [Theory]
    [InlineData(1)]
    [InlineData(2)]
    [InlineData(3)]
    public async Task Whatever_happens_at_once_both_move_or_neither(int seed)
    {
        await using var school = await StartAsync(postgres);
        var random = new Random(seed);
        for (var round = 0; round < 8; round++)
        {
            var before = await school.PlacesAsync();
            var swap = (await school.SwapAsync()).Id();
            Func<Task<HttpResponseMessage>>[] acts =
            [
                () => AcceptAsync(school.AsTamsin, swap), () => AcceptAsync(school.AsWren, swap), () => AcceptAsync(school.AsTamsin, swap), () => DeclineAsync(school.AsWren, swap),
                () => AcceptAsync(school.Office, swap, school.HalfPastOne), () => school.ApplyAsync(swap, new { asked = round % 2 == 0 }), () => school.Office.DeleteAsync($"{Address}/{swap}"),
            ];
            var chosen = acts.Where(_ => random.Next(3) > 0).OrderBy(_ => random.Next()).ToList();
            var answers = await Task.WhenAll(chosen.Select(act => act()).Append(LapsingAsync()));
            Assert.All(answers, answer => Assert.True((int)answer.StatusCode < 500, $"{answer.StatusCode}"));
            var (after, kept) = (await school.PlacesAsync(), await school.ReadAsync(swap));
            var yes = (await school.AnswersAsync(swap)).Count(a => a.Reply is SwapReply.Agreed);
            var applied = kept.Word("state") == "applied";
            Assert.Equal(applied, after != before);
            Assert.Contains(after, new[] { AsBooked, Swapped });
            Assert.True(!applied || yes == 2, $"carried out with {yes}");
            Assert.True(applied || kept.Word("state") is "proposed" or "stopped", kept.Word("state"));
            await school.Office.DeleteAsync($"{Address}/{swap}");
        }

        async Task<HttpResponseMessage> LapsingAsync()
        {
            await school.LapseAsync();
            return new(HttpStatusCode.OK);
        }
    }
}
