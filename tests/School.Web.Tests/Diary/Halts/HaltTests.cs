using System.Net;
using System.Text.Json;
using System.Text.RegularExpressions;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Hours;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.Diary.Waiting;
using School.Web.Modules.Messages;
using School.Web.Modules.Pupils;
using School.Web.Platform.Access;
using School.Web.Tests.Diary.Covers;
using School.Web.Tests.Host;

namespace School.Web.Tests.Diary.Halts;

/// <summary>Snow on Tuesday 3 March: Marigold has Tamsin at 10:00 and Idris at 14:00, Bram has Wren from 13:30 to 15:30.</summary>
public sealed class HaltTests(TestPostgres postgres)
{
    private const string Halts = "/api/v1/halts";

    [Fact]
    public async Task All_lessons_of_the_hours_are_cancelled_free_of_charge_and_everybody_hears_of_it_once()
    {
        await using var school = await IllInstructor.StartAsync(postgres);
        // Within the notice the pupil would pay; the weather is nobody's fault.
        var halt = await HaltAsync(school, new { start = At(8), end = At(18), act = "cancel", reason = "weather" });
        Assert.Equal("proposed", halt.Word("state"));
        var lines = halt.GetProperty("lines").EnumerateArray().ToList();
        Assert.Equal(3, lines.Count);
        Assert.All(lines, line => Assert.Equal(("cancel", "free_weather", false), (line.Word("act"), line.GetProperty("charge").Word("code"), line.GetProperty("charge").GetProperty("chargeable").GetBoolean())));
        Assert.Equal(JsonValueKind.Null, halt.GetProperty("toCall").ValueKind);
        Assert.Equal(LessonState.Booked, (await school.LessonAsync(school.AtTen)).State);

        var done = await (await ApplyAsync(school, halt.Id())).JsonAsync();
        Assert.Equal("applied", done.Word("state"));
        foreach (var id in new[] { school.AtTen, school.AtTwo })
        {
            var lesson = await school.LessonAsync(id);
            Assert.Equal((LessonState.Cancelled, CancelReason.Weather, false), (lesson.State, lesson.CancelledBecause, lesson.Chargeable));
        }

        var told = await school.Host.WithDbAsync(db => db.Set<Message>().AsNoTracking().Where(m => m.Kind == "lesson_cancelled").Select(m => m.ToName).OrderBy(name => name).ToListAsync());
        Assert.Equal(["Bram Holt", "Idris Bell", "Tamsin Oakley", "Wren Castellan"], told.Distinct());
        Assert.Equal(3, told.Count(name => name is not "Bram Holt" and not "Marigold Ashby"));
        // Nobody is booked into those hours again.
        Assert.Equal(2, await school.Host.WithDbAsync(db => db.Set<TimeOffRow>().CountAsync()));
        Assert.Equal("proposal_applied", await (await ApplyAsync(school, halt.Id())).CodeAsync(HttpStatusCode.Conflict));
    }

    [Fact]
    public async Task Hours_and_instructors_that_are_not_named_stay_as_they_are()
    {
        await using var school = await IllInstructor.StartAsync(postgres);
        var halt = await HaltAsync(school, new { start = At(12), end = At(18), instructorIds = new[] { school.Marigold.Id }, act = "cancel", reason = "weather" });
        Assert.Equal(school.AtTwo, Assert.Single(halt.GetProperty("lines").EnumerateArray()).Id("lessonId"));
        await (await ApplyAsync(school, halt.Id())).JsonAsync();
        Assert.Equal(LessonState.Booked, (await school.LessonAsync(school.AtTen)).State);
        Assert.Equal(2, await school.Host.WithDbAsync(db => db.Set<Lesson>().CountAsync(l => l.State == LessonState.Booked)));
    }

    [Fact]
    public async Task Only_lessons_that_begin_in_the_areas_are_stopped_and_the_hours_stay_open_elsewhere()
    {
        await using var school = await IllInstructor.StartAsync(postgres);
        var area = (await (await school.Office.SendJsonAsync(HttpMethod.Post, "/api/v1/areas", new { name = "The hills", districts = new[] { "LK9" } })).JsonAsync(HttpStatusCode.Created)).Id();
        await school.Host.WithDbAsync(db => db.Set<Lesson>().Where(l => l.Id == school.AtTwo).ExecuteUpdateAsync(set => set.SetProperty(l => l.PickUp.Postcode, "LK9 4AA")));
        var halt = await HaltAsync(school, new { start = At(8), end = At(18), areaIds = new[] { area }, act = "cancel", reason = "weather" });
        Assert.Equal(school.AtTwo, Assert.Single(halt.GetProperty("lines").EnumerateArray()).Id("lessonId"));
        await (await ApplyAsync(school, halt.Id())).JsonAsync();
        Assert.Equal(0, await school.Host.WithDbAsync(db => db.Set<TimeOffRow>().CountAsync()));
    }

    [Fact]
    public async Task Moved_each_lesson_goes_to_the_first_time_that_fits_after_the_halt_and_no_two_to_the_same()
    {
        await using var school = await IllInstructor.StartAsync(postgres);
        var halt = await HaltAsync(school, new { start = At(8), end = At(18), act = "move", reason = "weather" });
        var starts = halt.GetProperty("lines").EnumerateArray().ToDictionary(line => line.Id("lessonId"), line => line.Moment("start"));
        Assert.All(starts.Values, start => Assert.True(start >= IllInstructor.At(18)));
        Assert.NotEqual(starts[school.AtTen], starts[school.AtTwo]);
        await (await ApplyAsync(school, halt.Id())).JsonAsync();
        foreach (var id in new[] { school.AtTen, school.AtTwo })
        {
            var lesson = await school.LessonAsync(id);
            Assert.Equal((LessonState.Booked, starts[id], school.Marigold.Id), (lesson.State, lesson.StartsAt, lesson.InstructorId));
        }

        // What was worked out was undone: nothing but the halt itself is in the history.
        var history = await school.Office.GetJsonAsync($"/api/v1/lessons/{school.AtTen}/history");
        Assert.Equal(["booked", "moved"], history.GetProperty("items").EnumerateArray().Select(line => line.Word("kind")));
    }

    [Fact]
    public async Task A_lesson_that_has_begun_says_why_not_and_what_begins_meanwhile_makes_the_halt_stale()
    {
        await using var school = await IllInstructor.StartAsync(postgres);
        school.Host.Clock.Reset(IllInstructor.At(10, 20));
        using var office = await school.Host.ApiAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        var ask = new { start = At(8), end = At(18), act = "cancel", reason = "weather" };
        var halt = await (await office.SendJsonAsync(HttpMethod.Post, Halts, ask)).JsonAsync(HttpStatusCode.Created);
        var begun = halt.GetProperty("lines").EnumerateArray().Single(line => line.Id("lessonId") == school.AtTen);
        Assert.Equal(("none", "lesson_begun"), (begun.Word("act"), Assert.Single(begun.GetProperty("whyNot").EnumerateArray()).Word("code")));

        school.Host.Clock.Reset(IllInstructor.At(13, 45));
        Assert.Equal("proposal_stale", await (await office.SendJsonAsync(HttpMethod.Post, $"{Halts}/{halt.Id()}/apply")).CodeAsync(HttpStatusCode.Conflict));
        Assert.Equal(LessonState.Booked, (await school.LessonAsync(school.AtTwo)).State);
        await (await office.SendJsonAsync(HttpMethod.Post, $"{Halts}/{halt.Id()}/apply")).JsonAsync();
        Assert.Equal((LessonState.Booked, LessonState.Cancelled), ((await school.LessonAsync(school.AtTen)).State, (await school.LessonAsync(school.AtTwo)).State));
    }

    /// <summary>Whoever is on the road when the snow comes is told of nothing to move or cancel while they sit in the car.</summary>
    [Fact]
    public async Task The_time_off_of_a_halt_begins_once_the_lesson_that_is_on_has_ended()
    {
        await using var school = await IllInstructor.StartAsync(postgres);
        school.Host.Clock.Reset(IllInstructor.At(10, 20));
        using var office = await school.Host.ApiAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        var halt = await (await office.SendJsonAsync(HttpMethod.Post, Halts, new { start = At(8), end = At(18), act = "cancel", reason = "weather" })).JsonAsync(HttpStatusCode.Created);
        await (await office.SendJsonAsync(HttpMethod.Post, $"{Halts}/{halt.Id()}/apply")).JsonAsync();
        var off = await school.Host.WithDbAsync(db => db.Set<TimeOffRow>().AsNoTracking().ToDictionaryAsync(o => o.InstructorId));
        Assert.Equal(((await school.LessonAsync(school.AtTen)).EndsAt, IllInstructor.At(18)), (off[school.Marigold.Id].StartsAt, off[school.Marigold.Id].EndsAt));
        Assert.Equal(IllInstructor.At(10, 20), off[school.Bram.Id].StartsAt);
        using var marigold = await school.Host.PagesAsAsync(await school.Host.Data.PersonAsync(school.Marigold));
        Assert.DoesNotContain("in the time off", await (await marigold.GetAsync("/diary/day?date=2026-03-03")).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Who_was_not_reached_is_to_be_rung_and_is_ticked_off_once()
    {
        await using var school = await IllInstructor.StartAsync(postgres);
        await school.Host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Id == school.Tamsin.Id).ExecuteUpdateAsync(set => set.SetProperty(p => p.Email, "")));
        var halt = (await HaltAsync(school, new { start = At(8), end = At(18), act = "cancel", reason = "weather" })).Id();
        // No channel at once; refused and not gone later.
        var done = await (await ApplyAsync(school, halt)).JsonAsync();
        Assert.Equal([(school.Tamsin.Id, "noChannel")], ToCall(done));
        Assert.Equal(school.Tamsin.Phone, done.GetProperty("toCall")[0].Word("phone"));
        var idris = (await school.LessonAsync(school.AtTwo)).PupilId;
        await school.Host.WithDbAsync(db => db.Set<Message>().Where(m => m.ReceiverId == idris).ExecuteUpdateAsync(
            set => set.SetProperty(m => m.State, MessageState.Failed).SetProperty(m => m.ClosedAt, m => m.WrittenAt)));
        Assert.Equal(["noChannel", "refused"], ToCall(await ReadAsync(school, halt)).Select(call => call.Why).Order());
        school.Host.Clock.AdvanceMinutes(11);
        Assert.Equal(["noChannel", "notGone", "refused"], ToCall(await ReadAsync(school, halt)).Select(call => call.Why).Order());

        var url = $"{Halts}/{halt}/calls";
        await Task.WhenAll(Enumerable.Range(0, 3).Select(_ => school.Office.SendJsonAsync(HttpMethod.Post, url, new { pupilId = school.Tamsin.Id })));
        var rung = (await ReadAsync(school, halt)).GetProperty("toCall").EnumerateArray().Where(call => call.GetProperty("calledAt").ValueKind != JsonValueKind.Null);
        Assert.Equal(school.Tamsin.Id, Assert.Single(rung).Id("pupilId"));
        var audit = await school.Office.GetJsonAsync("/api/v1/audit?limit=100");
        Assert.Single(audit.GetProperty("items").EnumerateArray(), line => line.Word("what") == "halt.called");
        Assert.Equal("not_found", await (await school.Office.SendJsonAsync(HttpMethod.Post, url, new { pupilId = Guid.NewGuid() })).CodeAsync(HttpStatusCode.NotFound));
    }

    [Fact]
    public async Task What_cannot_be_asked_is_refused_in_words_and_an_instructor_stops_their_own_alone()
    {
        await using var school = await IllInstructor.StartAsync(postgres);
        async Task<List<string>> WrongAsync(object ask) => [.. await (await school.Office.SendJsonAsync(HttpMethod.Post, Halts, ask)).WrongFieldsAsync()];
        Assert.Equal(["end"], await WrongAsync(new { start = At(18), end = At(8), act = "cancel", reason = "weather" }));
        Assert.Equal(["reason"], await WrongAsync(new { start = At(8), end = At(18), act = "cancel", reason = "pupil" }));
        Assert.Equal(["areaIds", "instructorIds"], (await WrongAsync(new { start = At(8), end = At(18), act = "cancel", reason = "other", instructorIds = new[] { Guid.NewGuid() }, areaIds = new[] { Guid.NewGuid() } })).Order());
        Assert.Equal("nothing_to_halt", await (await school.Office.SendJsonAsync(HttpMethod.Post, Halts, new { start = At(6), end = At(7), act = "cancel", reason = "weather" })).CodeAsync(HttpStatusCode.UnprocessableEntity));

        using var bram = await school.Host.ApiAsAsync(await school.Host.Data.PersonAsync(school.Bram));
        Assert.Equal("not_found", await (await bram.SendJsonAsync(HttpMethod.Post, Halts, new { start = At(8), end = At(18), instructorIds = new[] { school.Marigold.Id }, act = "cancel", reason = "weather" })).CodeAsync(HttpStatusCode.NotFound));
        var own = await (await bram.SendJsonAsync(HttpMethod.Post, Halts, new { start = At(8), end = At(18), act = "cancel", reason = "weather" })).JsonAsync(HttpStatusCode.Created);
        Assert.Single(own.GetProperty("lines").EnumerateArray());
        var others = await HaltAsync(school, new { start = At(8), end = At(18), act = "cancel", reason = "weather" });
        Assert.Equal(HttpStatusCode.NotFound, (await bram.GetAsync($"{Halts}/{others.Id()}")).StatusCode);
        Assert.Equal(HttpStatusCode.NoContent, (await bram.DeleteAsync($"{Halts}/{own.Id()}")).StatusCode);
    }

    [Fact]
    public async Task Who_keeps_a_lesson_in_those_hours_gets_no_time_off()
    {
        await using var school = await IllInstructor.StartAsync(postgres);
        var halt = await HaltAsync(school, new { start = At(8), end = At(18), act = "cancel", reason = "weather" });
        var wren = halt.GetProperty("lines").EnumerateArray().Select(line => line.Id("lessonId")).Single(id => id != school.AtTen && id != school.AtTwo);
        await (await school.Office.SendJsonAsync(HttpMethod.Post, $"{Halts}/{halt.Id()}/apply", new { lines = new[] { school.AtTen, wren } })).JsonAsync();
        Assert.Equal(LessonState.Booked, (await school.LessonAsync(school.AtTwo)).State);
        Assert.Equal(school.Bram.Id, (await school.Host.WithDbAsync(db => db.Set<TimeOffRow>().AsNoTracking().SingleAsync())).InstructorId);
    }

    [Theory]
    [InlineData("cancel")]
    [InlineData("move")]
    public async Task Nobody_on_the_waiting_list_is_offered_the_hours(string act)
    {
        await using var school = await IllInstructor.StartAsync(postgres);
        var halt = await HaltAsync(school, new { start = At(8), end = At(18), act, reason = "other" });
        await (await ApplyAsync(school, halt.Id())).JsonAsync();
        Assert.NotEqual((LessonState.Booked, IllInstructor.At(10)), ((await school.LessonAsync(school.AtTen)).State, (await school.LessonAsync(school.AtTen)).StartsAt));
        Assert.Equal(0, await school.Host.WithDbAsync(db => db.Set<FreedSlot>().CountAsync()));
    }

    [Fact]
    public async Task A_move_is_ticked_only_where_the_pupil_stated_that_they_can_come_then()
    {
        await using var school = await IllInstructor.StartAsync(postgres);
        var idris = (await school.LessonAsync(school.AtTwo)).PupilId;
        var times = new[] { new { day = "wednesday", from = "08:00", to = "18:00" } };
        await (await school.Office.SendJsonAsync(HttpMethod.Put, $"/api/v1/pupils/{idris}/availability", new { times }, etag: "*")).JsonAsync();
        var halt = (await HaltAsync(school, new { start = At(8), end = At(18), instructorIds = new[] { school.Marigold.Id }, act = "move", reason = "weather" })).Id();
        using var browser = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        var shown = await (await browser.GetAsync($"/diary/halts/{halt}")).TextAsync();
        Assert.Matches($"value=\"{school.AtTwo}\"[^>]* checked", shown);
        Assert.Matches($"value=\"{school.AtTen}\"", shown);
        Assert.DoesNotMatch($"value=\"{school.AtTen}\"[^>]* checked", shown);
        Assert.Single(Regex.Matches(shown, "ask first"));
        Assert.Contains(">Move 1 lesson</button>", shown, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Who_keeps_the_diary_and_teaches_stops_their_own_from_their_day_and_everybodys_only_where_they_say_so()
    {
        await using var school = await IllInstructor.StartAsync(postgres);
        school.Host.Clock.Reset(IllInstructor.At(8));
        using var owner = await school.Host.PagesAsAsync(await school.Host.Data.WearerAsync("Marigold Ashby", school.Marigold.Email, OfficeParts.All, school.Marigold.Id));
        var own = $"/diary/halts?instructorId={school.Marigold.Id}";
        Assert.Contains($"href=\"{own}\"", await (await owner.GetAsync("/diary/day")).TextAsync(), StringComparison.Ordinal);
        var form = await (await owner.GetAsync(own)).TextAsync();
        Assert.Matches($"id=\"i-{school.Marigold.Id}\"[^>]* checked", form);
        Assert.DoesNotMatch("id=\"everybody\"[^>]* checked", form);
        Assert.Matches("id=\"everybody\"[^>]* checked", await (await owner.GetAsync("/diary/halts")).TextAsync());

        (string, string)[] ask = [("Input.Day", "2026-03-03"), ("Input.Act", "Cancel"), ("Input.Reason", "Weather")];
        (string, string)[][] unclear = [ask, [.. ask, ("Input.Everybody", "true"), ("Input.InstructorIds", $"{school.Marigold.Id}")]];
        foreach (var fields in unclear)
        {
            var told = await (await owner.PostFormAsync("/diary/halts", fields)).TextAsync();
            // Above all, as a link to the boxes, and beside them.
            Assert.Matches("href=\"#everybody\"[^>]*>Tick either everybody’s lessons or whose.", told);
            Assert.Contains("id=\"everybody-error\">Tick either everybody’s lessons or whose.", told, StringComparison.Ordinal);
        }

        Assert.Equal(HttpStatusCode.Redirect, (await owner.PostFormAsync("/diary/halts", [.. ask, ("Input.Everybody", "true")])).StatusCode);
        Assert.Equal(HttpStatusCode.Redirect, (await owner.PostFormAsync("/diary/halts", [.. ask, ("Input.InstructorIds", $"{school.Marigold.Id}")])).StatusCode);
    }

    [Fact]
    public async Task Who_keeps_only_their_own_diary_by_now_does_not_carry_out_what_stops_everybodys()
    {
        await using var school = await IllInstructor.StartAsync(postgres);
        var halt = (await HaltAsync(school, new { start = At(8), end = At(18), act = "cancel", reason = "weather" })).Id();
        var person = await school.Host.Data.PersonAsync(school.Bram);
        await school.Host.WithDbAsync(db => db.Set<Proposal>().Where(p => p.Id == halt).ExecuteUpdateAsync(set => set.SetProperty(p => p.AskedBy, person.Id)));
        using var bram = await school.Host.ApiAsAsync(person);
        Assert.Equal("not_found", await (await bram.SendJsonAsync(HttpMethod.Post, $"{Halts}/{halt}/apply")).CodeAsync(HttpStatusCode.NotFound));
        Assert.Equal(LessonState.Booked, (await school.LessonAsync(school.AtTen)).State);
    }

    [Fact]
    public async Task A_letter_that_does_not_tell_of_the_halt_reaches_nobody_about_it()
    {
        await using var school = await IllInstructor.StartAsync(postgres);
        var halt = (await HaltAsync(school, new { start = At(8), end = At(18), act = "cancel", reason = "weather" })).Id();
        Assert.Empty(ToCall(await (await ApplyAsync(school, halt)).JsonAsync()));
        await school.Host.WithDbAsync(db => db.Set<Message>().Where(m => m.ReceiverId == school.Tamsin.Id && m.Kind == "lesson_cancelled").ExecuteUpdateAsync(set => set.SetProperty(m => m.Kind, "lesson_late")));
        Assert.Equal([(school.Tamsin.Id, "noChannel")], ToCall(await ReadAsync(school, halt)));
    }

    [Fact]
    public async Task Who_sees_a_pupil_by_name_alone_by_now_gets_no_number_to_ring()
    {
        await using var school = await IllInstructor.StartAsync(postgres);
        await school.Host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Id == school.Tamsin.Id).ExecuteUpdateAsync(set => set.SetProperty(p => p.Email, "")));
        using var marigold = await school.Host.ApiAsAsync(await school.Host.Data.PersonAsync(school.Marigold));
        var ask = new { start = At(8), end = At(18), act = "cancel", reason = "weather", instructorIds = new[] { school.Marigold.Id } };
        var halt = (await (await marigold.SendJsonAsync(HttpMethod.Post, Halts, ask)).JsonAsync(HttpStatusCode.Created)).Id();
        var done = await (await marigold.SendJsonAsync(HttpMethod.Post, $"{Halts}/{halt}/apply")).JsonAsync();
        Assert.Equal(school.Tamsin.Phone, done.GetProperty("toCall")[0].Word("phone"));
        await school.Host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Id == school.Tamsin.Id).ExecuteUpdateAsync(set => set.SetProperty(p => p.UsualInstructorId, school.Bram.Id)));
        school.Host.Clock.Advance(Duration.FromDays(9));
        var later = await marigold.GetJsonAsync($"{Halts}/{halt}");
        Assert.Contains((school.Tamsin.Id, "noChannel"), ToCall(later));
        Assert.DoesNotContain(school.Tamsin.Phone, later.ToString(), StringComparison.Ordinal);
        Assert.Contains(school.Tamsin.Phone, (await ReadAsync(school, halt)).ToString(), StringComparison.Ordinal);
    }

    private static string At(int hour) => DiaryApi.Text(IllInstructor.At(hour));

    private static async Task<JsonElement> HaltAsync(IllInstructor school, object ask) => await (await school.Office.SendJsonAsync(HttpMethod.Post, Halts, ask)).JsonAsync(HttpStatusCode.Created);

    private static Task<HttpResponseMessage> ApplyAsync(IllInstructor school, Guid id) => school.Office.SendJsonAsync(HttpMethod.Post, $"{Halts}/{id}/apply");

    private static Task<JsonElement> ReadAsync(IllInstructor school, Guid id) => school.Office.GetJsonAsync($"{Halts}/{id}");

    private static List<(Guid Pupil, string? Why)> ToCall(JsonElement halt) => [.. halt.GetProperty("toCall").EnumerateArray().Select(call => (call.Id("pupilId"), call.Word("why")))];
}
