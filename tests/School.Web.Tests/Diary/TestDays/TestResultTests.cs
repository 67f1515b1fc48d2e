using System.Net;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.Diary.TestDays;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.TestDays;

/// <summary>The clock stands at Monday 2 March 2026, 08:00.</summary>
public sealed class TestResultTests(TestPostgres postgres)
{
    private static readonly Instant Tuesday = London(2026, 3, 3, 10, 14);

    [Fact]
    public async Task A_result_by_heading_is_kept_and_the_next_test_reckoned_after_a_fail()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = await TakenAsync(school);

        var test = await (await school.Instructor.ResultAsync(
            id, passed: false, 3, 1, faults: new object[] { new { heading = "21-observation", driving = 2, serious = 1 }, new { heading = "18", driving = 1 } }, note: "Look twice.")).JsonAsync();

        var result = test.GetProperty("result");
        Assert.Equal(("failed", false, 3, 1, 1), (
            test.Word("state"), result.GetProperty("passed").GetBoolean(), result.GetProperty("driving").GetInt32(), result.GetProperty("serious").GetInt32(),
            result.GetProperty("etaVerbal").GetInt32()));
        Assert.Equal(2, result.GetProperty("faults").GetArrayLength());
        // Ten working days after Tuesday 3 March: no holiday lies between. From memory.
        Assert.Equal("2026-03-14", test.Word("retestFrom"));
        Assert.Contains("from memory", test.Word("retestSource"), StringComparison.Ordinal);
        Assert.Equal("Look twice.", result.Word("note"));
        // Kept, and not only answered.
        Assert.Equal("failed", (await school.Office.GetJsonAsync($"{TestDayApi.Path}/{id}")).Word("state"));
        Assert.Null((await school.Pupil.GetJsonAsync($"{TestDayApi.Path}/{id}")).GetProperty("result").Word("note"));
    }

    // Pass rule: readytopass.campaign.gov.uk, at most 15 driving faults, none serious or dangerous.
    [Theory]
    [InlineData(true, 16, 0, 0)]
    [InlineData(true, 0, 1, 0)]
    [InlineData(true, 0, 0, 1)]
    [InlineData(false, 15, 0, 0)]
    public async Task A_result_against_the_pass_rule_is_asked_about_and_taken_once_confirmed(bool passed, int driving, int serious, int dangerous)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = await TakenAsync(school);

        Assert.Equal("result_against_rule", await (await school.Office.ResultAsync(id, passed, driving, serious, dangerous)).CodeAsync(HttpStatusCode.UnprocessableEntity));
        var test = await (await school.Office.ResultAsync(id, passed, driving, serious, dangerous, againstRule: true)).JsonAsync();
        Assert.Equal(passed ? "passed" : "failed", test.Word("state"));
        Assert.Equal(!passed, test.GetProperty("result").GetProperty("ruleSaysPassed").GetBoolean());
    }

    [Fact]
    public async Task Marks_that_cannot_be_are_refused()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = await TakenAsync(school);

        async Task WrongAsync(int driving, params object[] faults) =>
            Assert.Equal(["faults"], await (await school.Office.ResultAsync(id, true, driving, faults: faults)).WrongFieldsAsync());

        await WrongAsync(1, new { heading = "28", driving = 1 });
        // One or both safety questions wrong make one driving fault in total (readytopass.campaign.gov.uk).
        await WrongAsync(2, new { heading = "7", driving = 2 });
        await WrongAsync(3, new { heading = "18", driving = 2 });
        await WrongAsync(2, new { heading = "18", driving = 1 }, new { heading = "18", driving = 1 });
        Assert.Equal(["driving"], await (await school.Office.ResultAsync(id, true, -1)).WrongFieldsAsync());
        Assert.Equal("booked", (await school.Office.GetJsonAsync($"{TestDayApi.Path}/{id}")).Word("state"));
    }

    // Stopped by the examiner, or failed at the number plate: the test is failed (gov.uk, guidance for driving examiners, DT1); the rest from memory.
    [Theory]
    [InlineData("stopped", "failed", "2026-03-14")]
    [InlineData("eyesightFailed", "failed", "2026-03-14")]
    [InlineData("notConducted", "takenOff", null)]
    [InlineData("cancelledByAgency", "takenOff", null)]
    public async Task A_test_may_end_otherwise_than_by_driving_it_to_the_end(string ending, string state, string? retest)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = await TakenAsync(school);

        Assert.Equal(["passed"], await (await EndAsync(school.Office, id, new { ending, passed = true })).WrongFieldsAsync());
        var test = await (await EndAsync(school.Office, id, new { ending })).JsonAsync();

        Assert.Equal((state, ending, retest), (test.Word("state"), test.Word("ending"), test.Word("retestFrom")));
        if (ending is "eyesightFailed")
        {
            Assert.Equal((0, false), (test.GetProperty("result").GetProperty("driving").GetInt32(), test.GetProperty("result").GetProperty("ruleSaysPassed").GetBoolean()));
        }
    }

    [Fact]
    public async Task What_was_not_driven_has_no_faults_and_eyesight_is_none()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = await TakenAsync(school);

        Assert.Equal(["faults"], await (await EndAsync(school.Office, id, new { ending = "eyesightFailed", driving = 1 })).WrongFieldsAsync());
        Assert.Equal(["faults"], await (await school.Office.ResultAsync(id, true, 1, faults: new object[] { new { heading = "1a", driving = 1 } })).WrongFieldsAsync());
        Assert.Equal(["dangerous", "driving", "passed", "serious"], (await (await EndAsync(school.Office, id, new { })).WrongFieldsAsync()).Order());
        // A stopped test may have them, and none asks for the pass rule.
        Assert.Equal("failed", (await (await EndAsync(school.Office, id, new { ending = "stopped", dangerous = 1 })).JsonAsync()).Word("state"));
    }

    [Fact]
    public async Task The_agency_may_cancel_a_test_that_is_ahead_and_the_time_is_free_again()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Office.EnteredAsync(school.PupilId, Tuesday, ("instructorId", school.InstructorId))).Id();

        Assert.Equal("test_not_taken", await (await EndAsync(school.Office, id, new { ending = "notConducted" })).CodeAsync(HttpStatusCode.UnprocessableEntity));
        Assert.Equal("takenOff", (await (await EndAsync(school.Office, id, new { ending = "cancelledByAgency" })).JsonAsync()).Word("state"));

        await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 3, 10));
        Assert.Contains(
            await school.Host.SaidAsync(all => all.Where(m => m.AboutId == id)), said => said.Text.Contains("It sends a new date itself", StringComparison.Ordinal));
    }

    private static Task<HttpResponseMessage> EndAsync(HttpClient api, Guid id, object body) =>
        api.SendJsonAsync(HttpMethod.Put, $"{TestDayApi.Path}/{id}/result", body, etag: "*");

    [Fact]
    public async Task A_result_is_put_right_and_the_history_keeps_what_stood_before()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = await TakenAsync(school);
        await (await school.Instructor.ResultAsync(id, true, 2, note: "Calm.")).JsonAsync();
        await (await school.Pupil.ResultAsync(id, true, 3)).JsonAsync();

        var lines = await school.Host.WithDbAsync(db => db.Set<TestDayChange>().Where(c => c.TestDayId == id).OrderBy(c => c.At).ThenBy(c => c.Id).Select(c => c.Words).ToListAsync());

        Assert.Equal(3, lines.Count);
        Assert.Contains(lines, line => line.Contains("3 driving faults", StringComparison.Ordinal) && line.Contains("Before: passed, 2 driving faults", StringComparison.Ordinal));
        // What the pupil sends leaves the staff's note alone.
        Assert.Equal("Calm.", (await school.Office.GetJsonAsync($"{TestDayApi.Path}/{id}")).GetProperty("result").Word("note"));
        Assert.Equal("test_day_closed", await (await school.Office.ChangeAsync(id, school.PupilId, Tuesday)).CodeAsync(HttpStatusCode.Conflict));
    }

    [Fact]
    public async Task Before_the_test_there_is_no_result()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Office.EnteredAsync(school.PupilId, Tuesday)).Id();

        Assert.Equal("test_not_taken", await (await school.Office.ResultAsync(id, true, 0)).CodeAsync(HttpStatusCode.UnprocessableEntity));
    }

    [Fact]
    public async Task A_test_of_the_past_is_entered_with_its_result_beside_the_lesson_that_warmed_up_for_it()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 3, 9));
        school.Host.Clock.Reset(London(2026, 3, 4, 12));

        var test = await school.Office.EnteredAsync(
            school.PupilId, Tuesday, ("instructorId", school.InstructorId), ("ownCar", true), ("result", new { passed = true, driving = 4, serious = 0, dangerous = 0 }));

        Assert.Equal("passed", test.Word("state"));
        Assert.Equal(Tuesday, test.Moment("blockedFrom"));
        Assert.Null(test.Word("retestFrom"));
    }

    private static async Task<Guid> TakenAsync(SmallSchool school)
    {
        var id = (await school.Office.EnteredAsync(school.PupilId, Tuesday, ("instructorId", school.InstructorId), ("ownCar", true))).Id();
        school.Host.Clock.Reset(London(2026, 3, 3, 12));
        return id;
    }
}
