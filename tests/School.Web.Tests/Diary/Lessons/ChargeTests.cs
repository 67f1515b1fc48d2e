using System.Net;
using System.Text.Json;
using NodaTime;
using School.Core.Diary.Charges;
using School.Tests;
using School.Web.Modules.Diary.Lessons;
using School.Web.Platform.Api;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.Lessons;

/// <summary>What a change comes to is told beforehand, and holds when it is done or nothing is done.</summary>
public sealed class ChargeTests(TestPostgres postgres)
{
    private static readonly Instant Thursday10 = London(2026, 3, 5, 10);
    private static readonly Instant Friday14 = London(2026, 3, 6, 14);
    private static readonly Instant LastFree = London(2026, 3, 3, 10);

    [Fact]
    public async Task What_cancelling_would_come_to_is_told_before_and_kept_on_the_lesson_after()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        school.Host.Clock.Reset(LastFree);
        var free = await school.Pupil.GetJsonAsync(Charge(id, "cancel"));
        Assert.Equal(("free_in_time", false, LastFree), (free.Word("code"), free.GetProperty("chargeable").GetBoolean(), free.Moment("freeUntil")));
        Assert.Equal("If you cancel now, that is 48 hours before the lesson; it is free until 48 hours before.", free.Word("sentence"));

        school.Host.Clock.Reset(Thursday10 - Duration.FromHours(20));
        var late = await school.Pupil.GetJsonAsync(Charge(id, "cancel"));
        Assert.Equal(("late", true), (late.Word("code"), late.GetProperty("chargeable").GetBoolean()));
        Assert.Equal("free_weather", (await school.Office.GetJsonAsync(Charge(id, "cancel&reason=weather"))).Word("code"));
        Assert.Equal("free_school", (await school.Office.GetJsonAsync(Charge(id, "cancel&reason=other"))).Word("code"));
        Assert.Equal("late", (await school.Pupil.GetJsonAsync(Charge(id, "cancel&reason=other"))).Word("code"));

        var done = (await (await CancelAsync(school.Pupil, id, "late")).JsonAsync()).GetProperty("charge");
        Assert.Equal(("late", true, LastFree), (done.Word("code"), done.GetProperty("chargeable").GetBoolean(), done.Moment("freeUntil")));
        Assert.Equal("Cancelled 20 hours before; free until 48 hours before.", done.Word("sentence"));
        Assert.Equal(done.ToString(), (await school.Office.GetJsonAsync($"/api/v1/lessons/{id}")).GetProperty("charge").ToString());
        Assert.Equal("lesson_closed", await (await school.Pupil.GetAsync(Charge(id, "cancel"))).CodeAsync(HttpStatusCode.Conflict));
    }

    [Fact]
    public async Task A_charge_that_is_no_longer_true_does_nothing_and_tells_the_new_one()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        school.Host.Clock.Reset(LastFree + Duration.FromSeconds(1));
        var (messages, history) = ((await school.MessagesAsync(id)).Count, await HistoryAsync(school, id));
        var refused = await (await CancelAsync(school.Pupil, id, "free_in_time")).JsonAsync(HttpStatusCode.UnprocessableEntity);
        Assert.Equal("charge_changed", refused.Word("code"));
        Assert.Equal(("late", true), (refused.GetProperty("charge").Word("code"), refused.GetProperty("charge").GetProperty("chargeable").GetBoolean()));
        var stands = await school.Office.GetJsonAsync($"/api/v1/lessons/{id}");
        Assert.Equal(("booked", JsonValueKind.Null), (stands.Word("state"), stands.GetProperty("charge").ValueKind));
        Assert.Equal((messages, history), ((await school.MessagesAsync(id)).Count, await HistoryAsync(school, id)));

        // Whoever gives no code takes the rule of the moment, and is told it.
        Assert.Equal("late", (await (await CancelAsync(school.Pupil, id, null)).JsonAsync()).GetProperty("charge").Word("code"));
    }

    [Fact]
    public async Task The_school_moves_inside_the_notice_as_a_late_move_and_the_pupil_not_at_all()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        Assert.Equal("free_in_time", (await school.Pupil.GetJsonAsync(Charge(id, "move"))).Word("code"));
        school.Host.Clock.Reset(LastFree + Duration.FromSeconds(1));
        Assert.Equal("inside_move_notice", await (await school.Pupil.GetAsync(Charge(id, "move"))).CodeAsync(HttpStatusCode.UnprocessableEntity));
        var told = await school.Office.GetJsonAsync(Charge(id, $"move&start={Text(Friday14)}"));
        Assert.Equal(("late_move", false), (told.Word("code"), told.GetProperty("chargeable").GetBoolean()));
        Assert.Equal("free_instructor_ill", (await school.Office.GetJsonAsync(Charge(id, "move&reason=instructorIll"))).Word("code"));

        Assert.Equal("charge_changed", await (await MoveAsync(school.Office, id, "free_in_time")).CodeAsync(HttpStatusCode.UnprocessableEntity));
        Assert.Equal(Thursday10, (await school.Office.GetJsonAsync($"/api/v1/lessons/{id}")).Moment("start"));
        var moved = await (await MoveAsync(school.Office, id, "late_move")).JsonAsync();
        Assert.Equal((Friday14, "late_move"), (moved.Moment("start"), moved.GetProperty("charge").Word("code")));
        Assert.Equal(JsonValueKind.Null, moved.GetProperty("chargeable").ValueKind);
    }

    [Fact]
    public async Task A_missed_lesson_is_charged_or_waived_and_each_reads_it_as_they_are_spoken_to()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        school.Host.Clock.Reset(Thursday10 + Duration.FromMinutes(20));
        Assert.Equal("missed", (await school.Instructor.GetJsonAsync(Charge(id, "missed"))).Word("code"));
        Assert.Equal("waived", (await school.Instructor.GetJsonAsync(Charge(id, "missed&waive=true"))).Word("code"));
        Assert.Equal("not_found", await (await school.Pupil.GetAsync(Charge(id, "missed"))).CodeAsync(HttpStatusCode.NotFound));
        Assert.Equal("charge_changed", await (await MissAsync(school.Instructor, id, "waived", waive: false)).CodeAsync(HttpStatusCode.UnprocessableEntity));

        Assert.Equal("missed", (await (await MissAsync(school.Instructor, id, "missed", waive: false)).JsonAsync()).GetProperty("charge").Word("code"));
        var address = $"/api/v1/lessons/{id}";
        Assert.Equal("The pupil was not there; a missed lesson is charged.", (await school.Office.GetJsonAsync(address)).GetProperty("charge").Word("sentence"));
        Assert.Equal("You were not there; a missed lesson is charged.", (await school.Pupil.GetJsonAsync(address)).GetProperty("charge").Word("sentence"));
        Assert.Equal("waived", (await (await MissAsync(school.Instructor, id, "waived", waive: true)).JsonAsync()).GetProperty("charge").Word("code"));
    }

    [Fact]
    public async Task What_cannot_be_asked_is_refused()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        Assert.Equal("invalid", await (await school.Pupil.GetAsync(Charge(id, "cancel&reason=weather"))).CodeAsync(HttpStatusCode.BadRequest));
        Assert.Equal("invalid", await (await MoveAsync(school.Pupil, id, null, reason: "car")).CodeAsync(HttpStatusCode.BadRequest));
        Assert.Equal(HttpStatusCode.BadRequest, (await school.Pupil.GetAsync(Charge(id, "sell"))).StatusCode);
        Assert.Equal(HttpStatusCode.BadRequest, (await school.Pupil.GetAsync(Charge(id, "7"))).StatusCode);
        Assert.Equal(HttpStatusCode.BadRequest, (await school.Pupil.GetAsync($"/api/v1/lessons/{id}/charge")).StatusCode);
        Assert.Equal(HttpStatusCode.BadRequest, (await CancelAsync(school.Pupil, id, "cheap")).StatusCode);
        using var stranger = await school.Host.ApiAsAsync(await school.Host.Data.PersonAsync(await school.Host.Data.PupilAsync("Idris Bell")));
        Assert.Equal("not_found", await (await stranger.GetAsync(Charge(id, "cancel"))).CodeAsync(HttpStatusCode.NotFound));
    }

    [Fact]
    public void A_code_is_one_word_on_pages_and_in_the_api() => Assert.All(Enum.GetValues<ChargeCode>(), code =>
    {
        Assert.Equal($"\"{code.Word()}\"", JsonSerializer.Serialize(code, Web.Platform.Api.Json.Configure(new())));
        Assert.Equal(code, ChargeRules.Read(code.Word()));
    });

    private static string Charge(Guid id, string act) => $"/api/v1/lessons/{id}/charge?act={act}";

    private static Task<HttpResponseMessage> CancelAsync(HttpClient api, Guid id, string? charge) =>
        api.SendJsonAsync(HttpMethod.Post, $"/api/v1/lessons/{id}/cancel", new { reason = "pupil", charge });

    private static Task<HttpResponseMessage> MoveAsync(HttpClient api, Guid id, string? charge, string? reason = null) =>
        api.SendJsonAsync(HttpMethod.Post, $"/api/v1/lessons/{id}/move", new { start = Text(Friday14), reason, charge });

    private static Task<HttpResponseMessage> MissAsync(HttpClient api, Guid id, string? charge, bool waive) =>
        api.SendJsonAsync(HttpMethod.Post, $"/api/v1/lessons/{id}/missed", new { waive, charge });

    private static async Task<string> HistoryAsync(SmallSchool school, Guid id) => (await school.Office.GetJsonAsync($"/api/v1/lessons/{id}/history")).ToString();
}
