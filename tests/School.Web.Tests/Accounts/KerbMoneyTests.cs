using System.Net;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.Messages;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Accounts;

/// <summary>What is due where a lesson ended, and what is written to the pupil about money.</summary>
public sealed class KerbMoneyTests(TestPostgres postgres)
{
    private static readonly Instant Thursday10 = London(2026, 3, 5, 10);

    [Fact]
    public async Task What_is_due_counts_the_lesson_whether_or_not_it_is_written_down_and_is_taken_once()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.OpenBooksAsync();
        var id = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        school.Host.Clock.Reset(Thursday10 + Duration.FromHours(1));
        using var kerb = await InstructorPagesAsync(school);
        Assert.Contains("Took £36.00 in cash", await (await kerb.GetAsync(Page(school, id))).TextAsync(), StringComparison.Ordinal);
        await (await school.Instructor.RecordAsync(id, 60, "Junctions.")).JsonAsync();
        Assert.Contains("Took £36.00 in cash", await (await kerb.GetAsync($"/syllabus/lessons/{id}/next")).TextAsync(), StringComparison.Ordinal);

        var payment = Guid.NewGuid();
        for (var press = 0; press < 2; press++)
        {
            using var pressed = await PressAsync(kerb, school, id, payment, "cash");
            Assert.Equal((HttpStatusCode.Redirect, $"/syllabus/lessons/{id}/next"), (pressed.StatusCode, pressed.Headers.Location?.OriginalString));
        }

        Assert.Equal((0, 0), await school.Pupil.StandingAsync(school.PupilId));
        Assert.Equal(new() { ["cash"] = 36_00, ["lesson_income"] = -36_00 }, await school.Office.BalancesAsync());
        Assert.Contains("Nothing is to be paid", await (await kerb.GetAsync($"/syllabus/lessons/{id}/next")).TextAsync(), StringComparison.Ordinal);
        var receipt = Assert.Single(await LettersAsync(school, "payment_receipt"));
        Assert.Contains("We have received £36.00 from you, with thanks.", receipt, StringComparison.Ordinal);
        Assert.Contains("Nothing is left to pay.", receipt, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Who_took_the_same_money_already_is_told_and_nothing_is_taken()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.OpenBooksAsync();
        var id = await TaughtAsync(school, Thursday10);
        using var kerb = await InstructorPagesAsync(school);
        using var first = await PressAsync(kerb, school, id, Guid.NewGuid(), "card");
        using var second = await PressAsync(kerb, school, id, Guid.NewGuid(), "card");
        Assert.Contains("is in the books already", await second.TextAsync(), StringComparison.Ordinal);
        using var unsaid = await PressAsync(kerb, school, id, Guid.NewGuid(), "");
        Assert.Contains("Say how it was paid. Nothing was taken.", await unsaid.TextAsync(), StringComparison.Ordinal);
        Assert.Equal((0, 0), await school.Pupil.StandingAsync(school.PupilId));
        Assert.Single(await LettersAsync(school, "payment_receipt"));
        // Another's pupil, another's lesson.
        using var stranger = await school.Host.PagesAsAsync(await school.Host.Data.PersonAsync(await school.Host.Data.InstructorAsync("Alder Reeve")));
        Assert.NotEqual(HttpStatusCode.OK, (await stranger.GetAsync(Page(school, id))).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await kerb.GetAsync($"/accounts/{(await school.Host.Data.PupilAsync("Sorrel Wick", instructor: school.InstructorId)).Id}/kerb?lesson={id}")).StatusCode);
    }

    [Fact]
    public async Task A_transfer_is_asked_for_by_a_letter_with_its_reference_which_waits_no_more_once_it_is_paid()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.OpenBooksAsync();
        var id = await TaughtAsync(school, Thursday10);
        using var kerb = await InstructorPagesAsync(school);
        var (letter, reference) = (Guid.NewGuid(), (await school.Office.AccountAsync(school.PupilId)).Word("reference")!);
        for (var press = 0; press < 2; press++)
        {
            using var pressed = await PressAsync(kerb, school, id, letter, "transfer");
            Assert.Equal(HttpStatusCode.Redirect, pressed.StatusCode);
        }

        var due = Assert.Single(await LettersAsync(school, "account_due"));
        Assert.Contains("£36.00 is to be paid for your lessons.", due, StringComparison.Ordinal);
        Assert.Contains(reference, due.Replace(" ", "", StringComparison.Ordinal), StringComparison.Ordinal);
        Assert.Equal((36_00, 0), await school.Pupil.StandingAsync(school.PupilId));

        await (await school.Office.PayAsync(school.PupilId, 36_00, "transfer")).JsonAsync(HttpStatusCode.Created);
        Assert.Empty(await LettersAsync(school, "account_due"));
        Assert.Equal("nothing_due", await (await school.Office.SendJsonAsync(HttpMethod.Post, $"/api/v1/pupils/{school.PupilId}/due", new { })).CodeAsync(HttpStatusCode.UnprocessableEntity));
    }

    [Fact]
    public async Task Few_prepaid_hours_are_told_once_and_that_they_are_used_up_once_more()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.OpenBooksAsync();
        await school.Office.SellAsync(school.PupilId, 240, 136_00);
        var told = new List<int>();
        for (var day = 5; day < 9; day++)
        {
            var id = await TaughtAsync(school, day < 7 ? London(2026, 3, day, 10) : London(2026, 3, day + 2, 10));
            // Written down again, as it was: nothing more is said.
            await (await school.Instructor.RecordAsync(id, 60, "Said otherwise.")).JsonAsync();
            told.Add((await LettersAsync(school, "hours_low")).Count);
        }

        Assert.Equal([0, 1, 1, 2], told);
        Assert.Contains(await LettersAsync(school, "hours_low"), said => said.Contains("2 hours can still be taught.", StringComparison.Ordinal));
        Assert.Contains(await LettersAsync(school, "hours_low"), said => said.Contains("All the hours that you paid for ahead have been taught.", StringComparison.Ordinal));
    }

    [Fact]
    public async Task A_payment_that_waited_for_a_pupil_who_is_seen_no_more_is_refused_by_name_and_not_told_as_sent()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.OpenBooksAsync();
        var id = await TaughtAsync(school, Thursday10);
        var stranger = await school.Host.Data.PersonAsync(await school.Host.Data.InstructorAsync("Alder Reeve"));
        using var phone = await school.Host.PagesAsAsync(stranger);
        using var request = new HttpRequestMessage(HttpMethod.Post, Page(school, id))
        {
            Content = new FormUrlEncodedContent([new("pence", "3600"), new("on", "2026-03-05"), new("payment", $"{Guid.NewGuid()}"), new("how", "cash")]),
            Headers = { { "Idempotency-Key", "kept-1" }, { "School-Person", $"{stranger.Id}" }, { "RequestVerificationToken", await phone.FormTokenAsync("/people/account") } },
        };
        using var answer = await phone.SendAsync(request);
        var told = System.Text.Json.JsonDocument.Parse(await answer.Content.ReadAsStringAsync()).RootElement;
        Assert.Equal((HttpStatusCode.Forbidden, "refused", "reason_needed"), (answer.StatusCode, told.Word("outcome"), told.Word("code")));
        Assert.Equal((36_00, 0), await school.Pupil.StandingAsync(school.PupilId));
    }

    [Fact]
    public async Task A_press_that_says_something_else_of_the_same_payment_takes_nothing_and_prepaid_time_is_counted_once()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.OpenBooksAsync();
        var id = await TaughtAsync(school, Thursday10);
        using var kerb = await InstructorPagesAsync(school);
        var payment = Guid.NewGuid();
        using var first = await PressAsync(kerb, school, id, payment, "cash");
        using var other = await PressAsync(kerb, school, id, payment, "card");
        Assert.Contains("This was taken already as £36.00 (cash), receipt 1. Nothing more was taken.", await other.TextAsync(), StringComparison.Ordinal);
        using var part = await kerb.PostFormAsync("/people/account", Page(school, id), ("pence", "3600"), ("on", "yesterday"), ("payment", $"{Guid.NewGuid()}"), ("how", "cash"));
        Assert.Contains("Nothing was taken. Open the page again.", await part.TextAsync(), StringComparison.Ordinal);
        Assert.Equal((0, 0), await school.Pupil.StandingAsync(school.PupilId));

        await school.Office.SellAsync(school.PupilId, 60, 34_00);
        await (await school.Office.PayAsync(school.PupilId, 34_00, "transfer")).JsonAsync(HttpStatusCode.Created);
        await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 6, 9));
        var second = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 6, 14))).Id();
        Assert.Contains("Took £36.00 in cash", await (await kerb.GetAsync(Page(school, second))).TextAsync(), StringComparison.Ordinal);
        var far = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 9, 14))).Id();
        Assert.Equal(HttpStatusCode.NotFound, (await kerb.GetAsync(Page(school, far))).StatusCode);
    }

    private static string Page(SmallSchool school, Guid lesson) => $"/accounts/{school.PupilId}/kerb?lesson={lesson}";

    private static async Task<HttpClient> InstructorPagesAsync(SmallSchool school) =>
        await school.Host.PagesAsAsync(await school.Host.WithDbAsync(db => db.Set<Person>().SingleAsync(p => p.InstructorId == school.InstructorId)));

    private static Task<HttpResponseMessage> PressAsync(HttpClient pages, SmallSchool school, Guid lesson, Guid payment, string how) =>
        pages.PostFormAsync("/people/account", Page(school, lesson), ("pence", "3600"), ("on", "2026-03-05"), ("payment", $"{payment}"), ("how", how));

    private static async Task<Guid> TaughtAsync(SmallSchool school, Instant at)
    {
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, at)).Id();
        school.Host.Clock.Reset(at + Duration.FromHours(1));
        await (await school.Instructor.RecordAsync(id, 60, "Junctions.")).JsonAsync();
        return id;
    }

    /// <summary>Those that wait, as they would be read.</summary>
    private static async Task<IReadOnlyList<string>> LettersAsync(SmallSchool school, string kind)
    {
        var waiting = await school.Host.WithDbAsync(db => db.Set<Message>().AsNoTracking().Where(m => m.Kind == kind && m.State == MessageState.Waiting).Select(m => m.Id).ToListAsync());
        var said = new List<string>();
        foreach (var id in waiting)
        {
            said.Add((await school.Office.GetJsonAsync($"/api/v1/messages/{id}")).Word("text")!);
        }

        return said;
    }
}
