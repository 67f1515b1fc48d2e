using System.Net;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Accounts;

/// <summary>What a lesson comes to, whatever becomes of it.</summary>
public sealed class LessonMoneyTests(TestPostgres postgres)
{
    private static readonly Instant Thursday10 = London(2026, 3, 5, 10);

    [Fact]
    public async Task A_taught_lesson_is_posted_once_however_often_it_is_written_down()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.OpenBooksAsync();
        var id = await TaughtAsync(school, Thursday10, 60);
        Assert.Equal((36_00, 0), await school.Pupil.StandingAsync(school.PupilId));
        await (await school.Instructor.RecordAsync(id, 60, "Said otherwise.")).JsonAsync();
        Assert.Single((await school.Office.AccountAsync(school.PupilId)).GetProperty("items").EnumerateArray());

        // Put right: undone and posted anew, both to be seen.
        await (await school.Instructor.RecordAsync(id, 45, "It ended early.")).JsonAsync();
        Assert.Equal((27_00, 0), await school.Pupil.StandingAsync(school.PupilId));
        Assert.Equal([27_00L, -36_00L, 36_00L], (await school.Office.AccountAsync(school.PupilId)).GetProperty("items").EnumerateArray().Select(item => item.GetProperty("pence").GetInt64()));
        Assert.Equal(new() { ["receivable"] = 27_00, ["lesson_income"] = -27_00 }, await school.Office.BalancesAsync());
    }

    [Fact]
    public async Task Nothing_is_posted_before_the_books_are_open_and_recording_never_fails_for_money()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var before = await TaughtAsync(school, London(2026, 3, 4, 10), 60);
        school.Host.Clock.Reset(Thursday10 - Duration.FromHours(1));
        Assert.Equal("books_not_open", await (await school.Office.GetAsync($"/api/v1/pupils/{school.PupilId}/account")).CodeAsync(HttpStatusCode.UnprocessableEntity));
        await school.Office.OpenBooksAsync();
        Assert.Equal("books_open_already", await (await school.Office.SendJsonAsync(HttpMethod.Post, "/api/v1/books", new { pencePerHour = 1 })).CodeAsync(HttpStatusCode.Conflict));
        await (await school.Instructor.RecordAsync(before, 50, "Put right a day later.")).JsonAsync();
        Assert.Equal((0, 0), await school.Pupil.StandingAsync(school.PupilId));
    }

    [Fact]
    public async Task Prepaid_hours_are_used_from_the_oldest_and_come_back_when_the_record_is_put_right()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.OpenBooksAsync(vatFrom: "2020-01-01");
        await school.Office.SellAsync(school.PupilId, 75, 42_00);
        var id = await TaughtAsync(school, Thursday10, 60);
        Assert.Equal((42_00, 15), await school.Pupil.StandingAsync(school.PupilId));
        // £42 less £7 VAT for 75 minutes: an hour is worth £28.
        Assert.Equal(new() { ["receivable"] = 42_00, ["prepaid"] = -7_00, ["vat_out"] = -7_00, ["lesson_income"] = -28_00 }, await school.Office.BalancesAsync());

        await TaughtAsync(school, London(2026, 3, 6, 10), 60);
        Assert.Equal((42_00 + 27_00, 0), await school.Pupil.StandingAsync(school.PupilId));
        Assert.Equal(
            new() { ["receivable"] = 69_00, ["vat_out"] = -11_50, ["lesson_income"] = -57_50 }, await school.Office.BalancesAsync());
        await (await school.Instructor.RecordAsync(id, 30, "It ended early.")).JsonAsync();
        Assert.Equal((69_00, 30), await school.Pupil.StandingAsync(school.PupilId));
    }

    [Fact]
    public async Task A_rise_does_not_touch_what_is_booked()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.OpenBooksAsync();
        var id = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        await (await school.Office.SendJsonAsync(HttpMethod.Post, "/api/v1/prices", new { pence = 40_00, bookedFrom = "2026-03-04" })).JsonAsync(HttpStatusCode.Created);
        Assert.Equal("invalid", await (await school.Office.SendJsonAsync(HttpMethod.Post, "/api/v1/prices", new { pence = 40_00, bookedFrom = "2026-02-01" })).CodeAsync(HttpStatusCode.BadRequest));
        school.Host.Clock.Reset(London(2026, 3, 4, 9));
        await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 6, 10));
        school.Host.Clock.Reset(London(2026, 3, 6, 12));
        await (await school.Instructor.RecordAsync(id, 60, "As booked.")).JsonAsync();
        Assert.Equal((36_00, 0), await school.Pupil.StandingAsync(school.PupilId));
        var later = (await school.Office.GetJsonAsync($"/api/v1/lessons?pupilId={school.PupilId}&from=2026-03-06")).GetProperty("items").EnumerateArray().First().Id();
        await (await school.Instructor.RecordAsync(later, 60, "As booked.")).JsonAsync();
        Assert.Equal((76_00, 0), await school.Pupil.StandingAsync(school.PupilId));
    }

    [Fact]
    public async Task A_late_cancellation_is_told_charged_and_let_pass()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.OpenBooksAsync(late: 50);
        await school.Office.AgreeTermsAsync(school.Pupil, school.PupilId);
        var id = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        school.Host.Clock.Reset(Thursday10 - Duration.FromHours(3));
        var told = await school.Pupil.GetJsonAsync($"/api/v1/lessons/{id}/charge?act=cancel");
        Assert.Equal((18_00, 0, "GBP"), (told.GetProperty("pence").GetInt64(), told.GetProperty("prepaidMinutes").GetInt32(), told.Word("currency")));
        Assert.EndsWith("£18.00 is owed, 50 % of the price.", told.Word("sentence"), StringComparison.Ordinal);
        await (await school.Pupil.CancelAsync(id)).JsonAsync();
        Assert.Equal((18_00, 0), await school.Pupil.StandingAsync(school.PupilId));
        Assert.Equal(new() { ["receivable"] = 18_00, ["late_income"] = -18_00 }, await school.Office.BalancesAsync());

        var fee = (await school.Office.AccountAsync(school.PupilId)).GetProperty("fees")[0].Id();
        var waive = $"/api/v1/pupils/{school.PupilId}/fees/{fee}/waive";
        Assert.Equal("invalid", await (await school.Office.SendJsonAsync(HttpMethod.Post, waive, new { reason = " " })).CodeAsync(HttpStatusCode.BadRequest));
        await (await school.Office.SendJsonAsync(HttpMethod.Post, waive, new { reason = "A funeral." })).JsonAsync();
        Assert.Equal("fee_not_standing", await (await school.Office.SendJsonAsync(HttpMethod.Post, waive, new { reason = "Again." })).CodeAsync(HttpStatusCode.UnprocessableEntity));
        Assert.Equal((0, 0), await school.Pupil.StandingAsync(school.PupilId));
        Assert.Empty(await school.Office.BalancesAsync());
    }

    [Theory]
    [InlineData("no_terms")]
    [InlineData("no_reminder")]
    [InlineData("free_one")]
    [InlineData("nothing_asked")]
    public async Task No_late_fee_is_asked_where_terms_or_a_reminder_are_missing_or_one_is_let_pass(string reason)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.OpenBooksAsync(late: reason == "nothing_asked" ? 0 : 100, free: reason == "free_one" ? 1 : 0, needsReminder: reason == "no_reminder");
        if (reason != "no_terms")
        {
            await school.Office.AgreeTermsAsync(school.Pupil, school.PupilId);
        }

        var id = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 10, 10))).Id();
        var second = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 10, 14))).Id();
        school.Host.Clock.Reset(London(2026, 3, 10, 7));
        Assert.Equal(0, (await school.Pupil.GetJsonAsync($"/api/v1/lessons/{id}/charge?act=cancel")).GetProperty("pence").GetInt64());
        await (await school.Pupil.CancelAsync(id)).JsonAsync();
        Assert.Equal((0, 0), await school.Pupil.StandingAsync(school.PupilId));
        Assert.Equal(reason, (await school.Pupil.AccountAsync(school.PupilId)).GetProperty("fees")[0].Word("reason"));
        var letter = Assert.Single(await school.MessagesAsync(id, "lesson_cancelled"), said => said.Key.EndsWith(":pupil", StringComparison.Ordinal));
        Assert.Contains("It was late, and nothing is asked of you for it.", letter.Text, StringComparison.Ordinal);
        Assert.DoesNotContain("it is charged", letter.Text, StringComparison.Ordinal);
        await (await school.Pupil.CancelAsync(second)).JsonAsync();
        Assert.Equal((reason == "free_one" ? 36_00 : 0, 0), await school.Pupil.StandingAsync(school.PupilId));
    }

    [Fact]
    public async Task Only_what_was_let_pass_counts_as_one_of_the_free_ones()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.OpenBooksAsync(free: 1);
        var ids = new List<Guid>();
        foreach (var hour in new[] { 9, 11, 13 })
        {
            ids.Add((await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 10, hour))).Id());
        }

        school.Host.Clock.Reset(London(2026, 3, 10, 7));
        await (await school.Pupil.CancelAsync(ids[0])).JsonAsync();
        await school.Office.AgreeTermsAsync(school.Pupil, school.PupilId);
        await (await school.Pupil.CancelAsync(ids[1])).JsonAsync();
        await (await school.Pupil.CancelAsync(ids[2])).JsonAsync();
        Assert.Equal(["charged", "free_one", "no_terms"], (await school.Pupil.AccountAsync(school.PupilId)).GetProperty("fees").EnumerateArray().Select(fee => fee.Word("reason")).Order(StringComparer.Ordinal));
        Assert.Equal((36_00, 0), await school.Pupil.StandingAsync(school.PupilId));
    }

    [Fact]
    public async Task What_the_button_says_is_said_after_the_press()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.OpenBooksAsync();
        var id = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        school.Host.Clock.Reset(Thursday10 - Duration.FromHours(3));
        using var pages = await school.Host.PagesAsAsync(await school.Host.WithDbAsync(db => db.Set<Modules.People.Person>().AsNoTracking().SingleAsync(p => p.PupilId == school.PupilId)));
        var page = $"/diary/lessons/{id}/cancel?reason=Pupil";
        Assert.Contains("Cancel lesson, free of charge", await (await pages.GetAsync(page)).TextAsync(), StringComparison.Ordinal);
        using var pressed = await pages.PostFormAsync(page, $"/diary/lessons/{id}/cancel", ("reason", "Pupil"), ("charge", "late"));
        Assert.Contains("Lesson cancelled, free of charge.", await (await pages.GetAsync($"/diary/lessons/{id}")).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_lesson_booked_too_late_for_a_reminder_is_charged_without_one()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.OpenBooksAsync(needsReminder: true);
        await school.Office.AgreeTermsAsync(school.Pupil, school.PupilId);
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 3, 10))).Id();
        school.Host.Clock.Reset(London(2026, 3, 3, 7));
        await (await school.Pupil.CancelAsync(id)).JsonAsync();
        Assert.Equal((36_00, 0), await school.Pupil.StandingAsync(school.PupilId));
    }

    [Fact]
    public async Task A_missed_lesson_takes_prepaid_minutes_and_gives_them_back_when_it_was_taught_after_all()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.OpenBooksAsync();
        await school.Office.AgreeTermsAsync(school.Pupil, school.PupilId);
        await school.Office.SellAsync(school.PupilId, 600, 340_00);
        var id = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        school.Host.Clock.Reset(Thursday10 + Duration.FromMinutes(45));
        await (await school.Instructor.SendJsonAsync(HttpMethod.Post, $"/api/v1/lessons/{id}/missed", new { })).JsonAsync();
        Assert.Equal((340_00, 540), await school.Pupil.StandingAsync(school.PupilId));
        Assert.Equal(-34_00, (await school.Office.BalancesAsync())["missed_income"]);
        await (await school.Instructor.RecordAsync(id, 40, "There after all.")).JsonAsync();
        Assert.Equal((340_00, 560), await school.Pupil.StandingAsync(school.PupilId));
        var balances = await school.Office.BalancesAsync();
        Assert.False(balances.ContainsKey("missed_income"));
        Assert.Equal(-22_67, balances["lesson_income"]);
        Assert.True((await school.Pupil.AccountAsync(school.PupilId)).GetProperty("fees")[0].GetProperty("takenBack").GetBoolean());
    }

    [Fact]
    public async Task What_the_school_or_the_weather_stops_costs_nothing()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.OpenBooksAsync();
        await school.Office.AgreeTermsAsync(school.Pupil, school.PupilId);
        string[] reasons = ["weather", "instructorIll", "car", "other"];
        var booked = new List<Guid>();
        foreach (var hour in new[] { 9, 11, 13, 15 })
        {
            booked.Add((await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 5, hour))).Id());
        }

        school.Host.Clock.Reset(London(2026, 3, 5, 8));
        foreach (var (id, reason) in booked.Zip(reasons))
        {
            await (await school.Office.CancelAsync(id, reason)).JsonAsync();
        }

        Assert.Equal((0, 0), await school.Pupil.StandingAsync(school.PupilId));
        Assert.Empty((await school.Pupil.AccountAsync(school.PupilId)).GetProperty("fees").EnumerateArray());
    }

    private static async Task<Guid> TaughtAsync(SmallSchool school, Instant start, int minutes)
    {
        var before = school.Host.Clock.GetCurrentInstant();
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, start, minutes)).Id();
        school.Host.Clock.Reset(Instant.Max(before, start + Duration.FromMinutes(minutes)));
        await (await school.Instructor.RecordAsync(id, minutes, "Taught.")).JsonAsync();
        return id;
    }
}
