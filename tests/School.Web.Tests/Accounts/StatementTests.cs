using System.Net;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.People;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Accounts;

/// <summary>Papers of money: a statement over some days, and a receipt.</summary>
public sealed class StatementTests(TestPostgres postgres)
{
    [Fact]
    public async Task A_statement_carries_forward_what_was_owed_and_ends_with_what_is()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.OpenBooksAsync();
        await school.Office.SellAsync(school.PupilId, 60, 34_00);
        await (await school.Office.PayAsync(school.PupilId, 20_00, "transfer")).JsonAsync(HttpStatusCode.Created);
        school.Host.Clock.Reset(London(2026, 3, 9, 10));
        await (await school.Office.PayAsync(school.PupilId, 20_00, "card")).JsonAsync(HttpStatusCode.Created);
        await school.Office.SellAsync(school.PupilId, 60, 30_00);
        using var pages = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Basil Thornby"));

        var whole = await RowsAsync(pages, $"/accounts/{school.PupilId}/statement");
        Assert.Equal(["£0.00", "£34.00", "£14.00", "£6.00 held", "£24.00"], whole);
        var part = await RowsAsync(pages, $"/accounts/{school.PupilId}/statement?from=2026-03-03&to=2026-03-09");
        Assert.Equal(["£14.00", "£6.00 held", "£24.00"], part);
        var empty = await RowsAsync(pages, $"/accounts/{school.PupilId}/statement?from=2026-03-03&to=2026-03-08");
        Assert.Equal(["£14.00"], empty);
        var text = await (await pages.GetAsync($"/accounts/{school.PupilId}/statement")).TextAsync();
        Assert.Contains("2 hours of prepaid hours were left.", text, StringComparison.Ordinal);
        Assert.Contains(School.Core.Accounts.CreditorReference.Printed((await school.Office.AccountAsync(school.PupilId)).Word("reference")!), text, StringComparison.Ordinal);
        foreach (var absurd in new[] { "to=-9998-01-01", "from=-4800-01-01&to=-4800-01-01", "from=9999-12-31&to=9999-12-31", "from=&to=", "to=0001-01-01" })
        {
            Assert.Equal(HttpStatusCode.OK, (await pages.GetAsync($"/accounts/{school.PupilId}/statement?{absurd}")).StatusCode);
        }

        Assert.Contains("Choose a day from", await (await pages.GetAsync($"/accounts/{school.PupilId}/statement?from=2026-03-09&to=2026-03-03")).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Statement_and_receipt_are_for_the_pupil_the_staff_and_who_may_see_the_money()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.OpenBooksAsync();
        var payment = (await (await school.Office.PayAsync(school.PupilId, 20_00, "transfer")).JsonAsync(HttpStatusCode.Created)).GetProperty("id").GetGuid();
        var (data, other) = (school.Host.Data, await school.Host.Data.PupilAsync("Sorrel Wick"));
        foreach (var (who, sees) in new[]
        {
            (await school.Host.WithDbAsync(db => db.Set<Person>().SingleAsync(p => p.PupilId == school.PupilId)), true),
            (await data.BesideAsync("Rowan Oakley", (school.PupilId, [SeenOfPupil.Money])), true),
            (await data.BesideAsync("Carys Oakley", (school.PupilId, [SeenOfPupil.Lessons])), false),
            (await data.PersonAsync(other), false),
        })
        {
            using var pages = await school.Host.PagesAsAsync(who);
            foreach (var address in new[] { $"/accounts/{school.PupilId}/statement", $"/accounts/receipt/{payment}" })
            {
                using var answer = await pages.GetAsync(address);
                Assert.True((answer.StatusCode == HttpStatusCode.OK) == sees, $"{who.Name} {address}: {(int)answer.StatusCode}");
                Assert.True(!sees || (await answer.TextAsync()).Contains("£20.00", StringComparison.Ordinal));
            }
        }
    }

    /// <summary>What was owed, line by line.</summary>
    private static async Task<IReadOnlyList<string>> RowsAsync(HttpClient pages, string address) =>
        [.. System.Text.RegularExpressions.Regex.Matches(await (await pages.GetAsync(address)).TextAsync(), "data-label=\"Owed\" class=\"figure\">([^<]*)<").Select(match => match.Groups[1].Value)];
}
