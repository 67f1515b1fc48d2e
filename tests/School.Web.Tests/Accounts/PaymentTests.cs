using System.Net;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using Npgsql;
using School.Tests;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Accounts;

/// <summary>Money that changes hands.</summary>
public sealed class PaymentTests(TestPostgres postgres)
{
    [Fact]
    public async Task A_block_bought_on_Monday_and_half_used_is_given_back_on_Wednesday()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.OpenBooksAsync();
        var block = await school.Office.SellAsync(school.PupilId, 600, 360_00);
        Assert.Equal("card", (await (await school.Office.PayAsync(school.PupilId, 360_00, "card")).JsonAsync(HttpStatusCode.Created)).Word("method"));
        Assert.Equal((0, 600), await school.Pupil.StandingAsync(school.PupilId));
        var lesson = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 3, 10), 120)).Id();
        school.Host.Clock.Reset(London(2026, 3, 4, 9));
        await (await school.Instructor.RecordAsync(lesson, 120, "Taught.")).JsonAsync();

        // SI 2013/3134, reg 36: within fourteen days, begun at the buyer's wish, in proportion.
        var told = (await school.Pupil.AccountAsync(school.PupilId)).GetProperty("blocks")[0].GetProperty("refund");
        Assert.Equal((288_00, "within_14_days_proportion"), (told.GetProperty("pence").GetInt64(), told.Word("ground")));
        var back = $"/api/v1/pupils/{school.PupilId}/blocks/{block}/give-back";
        Assert.Equal("refund_changed", await (await school.Office.SendJsonAsync(HttpMethod.Post, back, new { pence = 300_00 })).CodeAsync(HttpStatusCode.UnprocessableEntity));
        await (await school.Office.SendJsonAsync(HttpMethod.Post, back, new { pence = 288_00 })).JsonAsync();
        Assert.Equal("block_used_up", await (await school.Office.SendJsonAsync(HttpMethod.Post, back, new { pence = 0 })).CodeAsync(HttpStatusCode.UnprocessableEntity));
        Assert.Equal((-288_00, 0), await school.Pupil.StandingAsync(school.PupilId));
        Assert.Equal("more_than_held", await (await school.Office.PayAsync(school.PupilId, 288_01, "card", back: true)).CodeAsync(HttpStatusCode.UnprocessableEntity));
        await (await school.Office.PayAsync(school.PupilId, 288_00, "card", back: true)).JsonAsync(HttpStatusCode.Created);
        Assert.Equal((0, 0), await school.Pupil.StandingAsync(school.PupilId));
        Assert.Equal(new() { ["card"] = 72_00, ["lesson_income"] = -72_00 }, await school.Office.BalancesAsync());
    }

    [Fact]
    public async Task Cash_stays_with_who_took_it_until_it_is_counted()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.OpenBooksAsync();
        await (await school.Instructor.PayAsync(school.PupilId, 36_00)).JsonAsync(HttpStatusCode.Created);
        await (await school.Office.PayAsync(school.PupilId, 10_00)).JsonAsync(HttpStatusCode.Created);
        Assert.Equal((-46_00, 0), await school.Pupil.StandingAsync(school.PupilId));
        var counted = await (await school.Office.SendJsonAsync(HttpMethod.Post, "/api/v1/cash", new { instructorId = school.InstructorId, pence = 35_00 })).JsonAsync();
        Assert.Equal(-1_00, counted.GetProperty("differencePence").GetInt64());
        Assert.Equal(new() { ["receivable"] = -46_00, ["cash"] = 45_00, ["write_off"] = 1_00 }, await school.Office.BalancesAsync());
        Assert.Equal("no_cash", await (await school.Office.SendJsonAsync(HttpMethod.Post, "/api/v1/cash", new { instructorId = school.InstructorId, pence = 0 })).CodeAsync(HttpStatusCode.UnprocessableEntity));
    }

    [Fact]
    public async Task One_payment_taken_by_two_people_is_noticed_and_a_second_one_can_be_said()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.OpenBooksAsync();
        await (await school.Instructor.PayAsync(school.PupilId, 36_00)).JsonAsync(HttpStatusCode.Created);
        Assert.Equal("already_taken", await (await school.Office.PayAsync(school.PupilId, 36_00)).CodeAsync(HttpStatusCode.Conflict));
        await (await school.Office.PayAsync(school.PupilId, 36_00, again: true)).JsonAsync(HttpStatusCode.Created);
        Assert.Equal((-72_00, 0), await school.Pupil.StandingAsync(school.PupilId));
    }

    [Fact]
    public async Task Twenty_presses_of_one_key_take_one_payment_and_twenty_payments_have_twenty_receipts()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.OpenBooksAsync();
        var once = await Task.WhenAll(Enumerable.Range(0, 20).Select(_ => school.Office.SendJsonAsync(
            HttpMethod.Post, "/api/v1/payments", new { pupilId = school.PupilId, pence = 5_00, method = "card" }, key: "3f0f6a3e-0f6a-4c43-9d8c-6a1f33c6a001")));
        Assert.All(once, answer => Assert.Contains(answer.StatusCode, new[] { HttpStatusCode.Created, HttpStatusCode.Conflict }));
        Assert.Equal((-5_00, 0), await school.Office.StandingAsync(school.PupilId));
        var many = await Task.WhenAll(Enumerable.Range(1, 20).Select(n => school.Office.PayAsync(school.PupilId, 100 + n, "card")));
        var numbers = await Task.WhenAll(many.Select(async answer => (await answer.JsonAsync(HttpStatusCode.Created)).GetProperty("number").GetInt32()));
        Assert.Equal(Enumerable.Range(2, 20), numbers.Order());
    }

    [Fact]
    public async Task A_form_that_is_pressed_twice_takes_one_payment_and_sells_hours_once()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.OpenBooksAsync();
        using var pages = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Basil Thornby"));
        foreach (var (page, fields) in new[]
        {
            ("block", new[] { ("Input.Hours", "7.5"), ("Input.Pence", "270.00") }),
            ("pay", new[] { ("Input.Pence", "270.00"), ("Input.Method", "Card"), ("Input.Again", "true") }),
        })
        {
            var (address, id) = ($"/accounts/{school.PupilId}/{page}", Guid.NewGuid().ToString());
            for (var press = 0; press < 2; press++)
            {
                using var pressed = await pages.PostFormAsync(address, address, [.. fields, ("Input.Id", id)]);
                Assert.Equal(HttpStatusCode.Redirect, pressed.StatusCode);
            }
        }

        Assert.Equal((0, 450), await school.Office.StandingAsync(school.PupilId));
        var wrong = await (await pages.PostFormAsync($"/accounts/{school.PupilId}/block", $"/accounts/{school.PupilId}/block", ("Input.Hours", "0.1"), ("Input.Pence", ""))).TextAsync();
        Assert.Contains("Enter hours, or quarters of one", wrong, StringComparison.Ordinal);
        Assert.Contains("Enter what they cost together.", wrong, StringComparison.Ordinal);
    }

    [Fact]
    public async Task What_cannot_be_an_amount_is_refused_and_nothing_is_half_posted()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.OpenBooksAsync();
        foreach (var pence in new[] { 0, -1, 100_000_01 })
        {
            Assert.Equal("invalid", await (await school.Office.PayAsync(school.PupilId, pence)).CodeAsync(HttpStatusCode.BadRequest));
            Assert.Equal("invalid", await (await school.Office.SendJsonAsync(
                HttpMethod.Post, $"/api/v1/pupils/{school.PupilId}/blocks", new { minutes = 5, pence = pence == 0 ? -1 : pence })).CodeAsync(HttpStatusCode.BadRequest));
        }

        Assert.Equal("invalid", await (await school.Office.SendJsonAsync(
            HttpMethod.Post, "/api/v1/payments", new { pupilId = school.PupilId, pence = 100, method = "card", currency = "EUR" })).CodeAsync(HttpStatusCode.BadRequest));
        Assert.Equal("invalid", await (await school.Office.PayAsync(school.PupilId, 100, paidOn: "2026-03-01")).CodeAsync(HttpStatusCode.BadRequest));
        Assert.Equal("invalid", await (await school.Office.PayAsync(school.PupilId, 100, paidOn: "2026-03-03")).CodeAsync(HttpStatusCode.BadRequest));
        Assert.Equal("invalid", await (await school.Office.SendJsonAsync(
            HttpMethod.Post, $"/api/v1/pupils/{school.PupilId}/write-offs", new { pence = 1, reason = "Nothing is owed." })).CodeAsync(HttpStatusCode.BadRequest));
        Assert.Empty(await school.Office.BalancesAsync());
    }

    [Fact]
    public async Task A_debt_is_given_up_with_a_reason()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.OpenBooksAsync();
        await school.Office.SellAsync(school.PupilId, 60, 36_00);
        await (await school.Office.SendJsonAsync(HttpMethod.Post, $"/api/v1/pupils/{school.PupilId}/write-offs", new { pence = 6_00, reason = "Moved away." })).JsonAsync();
        Assert.Equal((30_00, 60), await school.Office.StandingAsync(school.PupilId));
        Assert.Equal(6_00, (await school.Office.BalancesAsync())["write_off"]);
    }

    [Fact]
    public async Task Prices_for_the_same_hours_do_not_overlap_and_the_narrower_goes_before()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.OpenBooksAsync();
        await (await PriceAsync(school, new { pence = 40_00, days = 96, from = "08:00", until = "18:00" })).JsonAsync(HttpStatusCode.Created);
        Assert.Equal("prices_overlap", await (await PriceAsync(school, new { pence = 42_00, days = 64, from = "17:00" })).CodeAsync(HttpStatusCode.UnprocessableEntity));
        Assert.Equal("no_such_price", await (await PriceAsync(school, new { kind = "motorway" })).CodeAsync(HttpStatusCode.UnprocessableEntity));
        await (await PriceAsync(school, new { days = 96, from = "08:00", until = "18:00" })).JsonAsync(HttpStatusCode.Created);
        await (await PriceAsync(school, new { pence = 42_00, days = 64, from = "17:00" })).JsonAsync(HttpStatusCode.Created);
        Assert.Equal("invalid", await (await PriceAsync(school, new { pence = -1, minutes = 5, days = 0 })).CodeAsync(HttpStatusCode.BadRequest));
    }

    [Fact]
    public async Task The_database_takes_no_entry_that_is_out_and_rewrites_none()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.OpenBooksAsync();
        await school.Office.SellAsync(school.PupilId, 60, 36_00);
        await using var source = NpgsqlDataSource.Create(school.Host.ConnectionString);
        foreach (var sql in new[]
        {
            "UPDATE accounts.lines SET pence = pence + 1", "DELETE FROM accounts.entries", "UPDATE accounts.prices SET pence = 1", "DELETE FROM accounts.payments",
            "UPDATE accounts.blocks SET pence = 1", "DELETE FROM accounts.blocks",
            "INSERT INTO accounts.lines (entry_id, account, pence, minutes) SELECT id, 'Bank', 1, 0 FROM accounts.entries",
        })
        {
            await using var command = source.CreateCommand(sql.StartsWith("DELETE FROM accounts.payments", StringComparison.Ordinal) ? "UPDATE accounts.books SET version = version; DELETE FROM accounts.blocks" : sql);
            var refused = await Assert.ThrowsAsync<PostgresException>(() => command.ExecuteNonQueryAsync());
            Assert.True(refused.MessageText.Contains("only ever added", StringComparison.Ordinal) || refused.MessageText.Contains("does not balance", StringComparison.Ordinal), refused.MessageText);
        }

        Assert.Equal((36_00, 60), await school.Office.StandingAsync(school.PupilId));
    }

    [Fact]
    public async Task Nobody_sees_the_money_of_others_and_somebody_beside_a_pupil_only_where_they_allow_it()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.OpenBooksAsync();
        await school.Office.SellAsync(school.PupilId, 60, 36_00);
        var other = await school.Host.Data.PupilAsync("Wren Castellan");
        using var stranger = await school.Host.ApiAsAsync(await school.Host.Data.PersonAsync(other));
        Assert.Equal(HttpStatusCode.NotFound, (await stranger.GetAsync($"/api/v1/pupils/{school.PupilId}/account")).StatusCode);
        Assert.Equal("reason_needed", await (await school.Instructor.GetAsync($"/api/v1/pupils/{other.Id}/account")).CodeAsync(HttpStatusCode.Forbidden));
        Assert.Equal("reason_needed", await (await school.Instructor.PayAsync(other.Id, 100)).CodeAsync(HttpStatusCode.Forbidden));
        Assert.Equal(HttpStatusCode.Forbidden, (await school.Pupil.PayAsync(school.PupilId, 100)).StatusCode);
        var receipts = new List<string>();
        foreach (var pupil in new[] { school.PupilId, other.Id })
        {
            var receipt = (await (await school.Office.PayAsync(pupil, 100, "card")).JsonAsync(HttpStatusCode.Created)).Id();
            receipts.Add($"/api/v1/payments/{receipt}");
        }

        Assert.Equal(100, (await school.Pupil.GetJsonAsync(receipts[0])).GetProperty("pence").GetInt64());
        Assert.Equal(HttpStatusCode.NotFound, (await stranger.GetAsync(receipts[0])).StatusCode);
        Assert.Equal("reason_needed", await (await school.Instructor.GetAsync(receipts[1])).CodeAsync(HttpStatusCode.Forbidden));
        Assert.Equal(HttpStatusCode.Forbidden, (await school.Instructor.GetAsync("/api/v1/journal")).StatusCode);
    }

    [Fact]
    public async Task An_instructor_takes_money_and_gives_none_away()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.OpenBooksAsync();
        await (await school.Instructor.PayAsync(school.PupilId, 36_00)).JsonAsync(HttpStatusCode.Created);
        Assert.Equal("not_your_books", await (await school.Instructor.PayAsync(school.PupilId, 36_00, back: true)).CodeAsync(HttpStatusCode.Forbidden));
        var before = new { minutes = 600, pence = 0, fromBefore = true };
        var url = $"/api/v1/pupils/{school.PupilId}/blocks";
        Assert.Equal("not_your_books", await (await school.Instructor.SendJsonAsync(HttpMethod.Post, url, before)).CodeAsync(HttpStatusCode.Forbidden));
        Assert.Equal((-36_00, 0), await school.Pupil.StandingAsync(school.PupilId));
        await (await school.Office.SendJsonAsync(HttpMethod.Post, url, before)).JsonAsync(HttpStatusCode.Created);
        Assert.Equal((-36_00, 600), await school.Pupil.StandingAsync(school.PupilId));
    }

    [Fact]
    public async Task The_journal_as_plain_text_comes_to_the_trial_balance()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.OpenBooksAsync(vatFrom: "2020-01-01");
        await school.Office.SellAsync(school.PupilId, 600, 340_00);
        await (await school.Office.PayAsync(school.PupilId, 340_00, "transfer")).JsonAsync(HttpStatusCode.Created);
        using var request = new HttpRequestMessage(HttpMethod.Get, "/api/v1/journal") { Headers = { { "Accept", "text/plain" } } };
        var text = await (await school.Office.SendAsync(request)).Content.ReadAsStringAsync();
        // Added up by an arithmetic of its own: account, two blanks, pounds, currency.
        var sums = text.Split('\n').Where(line => line.StartsWith("    ", StringComparison.Ordinal)).Select(line => line.Trim().Split("  "))
            .GroupBy(line => line[0].Split(':')[0], line => decimal.Parse(line[1].Replace(" GBP", "", StringComparison.Ordinal), System.Globalization.CultureInfo.InvariantCulture))
            .ToDictionary(account => account.Key, account => (long)(account.Sum() * 100));
        Assert.Equal(await school.Office.BalancesAsync(), sums.Where(sum => sum.Value != 0).ToDictionary());
        Assert.Equal(2, (await school.Office.GetJsonAsync("/api/v1/journal")).GetProperty("items").GetArrayLength());
    }

    private static Task<HttpResponseMessage> PriceAsync(SmallSchool school, object price) => school.Office.SendJsonAsync(HttpMethod.Post, "/api/v1/prices", price);
}
