using System.Net;
using System.Runtime.Versioning;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using School.Tests;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.Records.Retention;
using School.Web.Platform.Security;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;
using static System.Net.Http.HttpMethod;

namespace School.Web.Tests.Records.Retention;

/// <summary>The school says how long things are kept, as far as the law and other people's claims leave it to it.</summary>
[UnsupportedOSPlatform("windows")]
public sealed class ChangeRetentionTests(TestPostgres postgres)
{
    private const string Url = "/api/v1/retention";

    [Fact]
    public async Task A_time_shorter_than_a_claim_needs_is_refused_with_the_law_that_says_so()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        using var refused = await PutAsync(office, ("letters_to_pupils", 2_374), ("kept_answers", 1));
        Assert.Equal(HttpStatusCode.UnprocessableEntity, refused.StatusCode);
        var problem = await refused.JsonAsync();
        Assert.Equal("kept_too_short", problem.GetProperty("code").GetString());
        Assert.Equal(["periods[0].days", "periods[1].days"], problem.GetProperty("errors").EnumerateObject().Select(field => field.Name).Order(StringComparer.Ordinal));
        Assert.Contains("2,375 days", problem.GetProperty("detail").GetString(), StringComparison.Ordinal);
        Assert.Contains("https://www.legislation.gov.uk/ukpga/1980/58/section/5", problem.GetProperty("detail").GetString(), StringComparison.Ordinal);
        var source = Assert.Single(problem.GetProperty("sources").EnumerateArray());
        Assert.Equal(("letters_to_pupils", "https://www.legislation.gov.uk/ukpga/1980/58/section/5"), (source.GetProperty("code").GetString(), source.GetProperty("url").GetString()));
        Assert.Equal(2_375, await DaysAsync(office, "letters_to_pupils"));
        // One day more is what it takes.
        using var done = await PutAsync(office, ("letters_to_pupils", 2_375), ("kept_answers", 2));
        Assert.Equal(HttpStatusCode.OK, done.StatusCode);
    }

    [Fact]
    public async Task Every_fault_is_told_at_once_and_nothing_is_changed()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        using var refused = await PutAsync(office, ("letters_to_pupils", 30), ("letters_other", 9_999), ("unheard_of", 5), ("sessions", 40), ("sessions", 41), ("late_notes", 50));
        Assert.Equal(HttpStatusCode.BadRequest, refused.StatusCode);
        Assert.Equal(
            ["periods[0].days", "periods[1].days", "periods[2].code", "periods[4].code", "periods[5].days"],
            (await refused.JsonAsync()).GetProperty("errors").EnumerateObject().Select(field => field.Name).Order(StringComparer.Ordinal));
        Assert.Equal(92, await DaysAsync(office, "sessions"));
        foreach (var body in new[] { "{}", """{"periods":null}""", """{"periods":[null]}""", """{"periods":[{"code":"sessions"}]}""", """{"periods":[{"days":40}]}""" })
        {
            using var sent = new HttpRequestMessage(Put, Url) { Content = new StringContent(body, System.Text.Encoding.UTF8, "application/json") };
            sent.Headers.TryAddWithoutValidation("If-Match", "*");
            using var answer = await office.SendAsync(sent);
            Assert.True(answer.StatusCode == HttpStatusCode.BadRequest, $"{body}: {answer.StatusCode}");
            Assert.NotEmpty((await answer.JsonAsync()).GetProperty("errors").EnumerateObject());
        }
    }

    [Fact]
    public async Task A_change_wants_the_version_that_was_read_and_stands_in_the_audit_and_the_next_run_keeps_to_it()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        using var read = await office.GetAsync(Url);
        var tag = read.Headers.ETag!.ToString();
        using (var missing = await office.SendAsync(Put, Url, Body(("kept_answers", 10))))
        {
            Assert.Equal(HttpStatusCode.PreconditionRequired, missing.StatusCode);
        }

        // What was read may be sent back as it is.
        using (var same = await office.SendAsync(Put, Url, await read.JsonAsync(), ("If-Match", tag)))
        {
            Assert.Equal(HttpStatusCode.OK, same.StatusCode);
        }

        using var changed = await office.SendAsync(Put, Url, Body(("kept_answers", 10)), ("If-Match", tag));
        Assert.Equal(HttpStatusCode.OK, changed.StatusCode);
        using (var stale = await office.SendAsync(Put, Url, Body(("kept_answers", 11)), ("If-Match", tag)))
        {
            Assert.Equal(HttpStatusCode.PreconditionFailed, stale.StatusCode);
        }

        var lines = (await office.GetJsonAsync("/api/v1/audit")).GetProperty("items").EnumerateArray().Where(line => line.GetProperty("what").GetString() == "retention.change").ToList();
        Assert.Equal("Changed how long things are kept: kept_answers 2 → 10 days.", Assert.Single(lines).GetProperty("words").GetString());
        var rows = await OldRows.OnAsync(host);
        await rows.Makers["kept_answers"](host.Clock.GetCurrentInstant() - Duration.FromDays(9));
        await rows.Makers["kept_answers"](host.Clock.GetCurrentInstant() - Duration.FromDays(11));
        Assert.Equal(1, await DueAsync(office, "kept_answers"));
        await ClearKeptTests.RunAsync(host);
        Assert.Equal(0, await DueAsync(office, "kept_answers"));
    }

    [Fact]
    public async Task The_page_tells_each_kind_with_its_reason_what_stands_what_goes_and_what_room_it_takes()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var rows = await OldRows.OnAsync(host);
        await host.AddAsync(new AttemptCount { Key = "old", WindowStart = Instant.FromUtc(2020, 1, 1, 0, 0), Count = 1 });
        await rows.Makers["letters_to_pupils"](Instant.FromUtc(2012, 1, 1, 0, 0));
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var page = WebUtility.HtmlDecode(await office.GetStringAsync("/records/retention"));
        Assert.All(host.Services.GetServices<RetentionRule>(), rule =>
        {
            Assert.Contains(rule.Kind, page, StringComparison.Ordinal);
            Assert.Contains(rule.Reason, page, StringComparison.Ordinal);
        });
        Assert.Contains("clears 2 rows", page, StringComparison.Ordinal);
        Assert.Contains("There are 1 now; the next run clears 1.", page, StringComparison.Ordinal);
        Assert.Matches("The database takes [0-9.]+ [MG]B", page);
        Assert.Contains("href=\"https://www.legislation.gov.uk/ukpga/1980/58/section/5\"", page, StringComparison.Ordinal);

        using var api = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var periods = (await api.GetJsonAsync(Url)).GetProperty("periods").EnumerateArray().Select(period => (Code: period.GetProperty("code").GetString()!, Days: period.GetProperty("days").GetInt32())).ToList();
        var short30 = await office.PostFormAsync("/records/retention", Form(periods, "letters_to_pupils", "30"));
        var said = await short30.TextAsync();
        Assert.Contains("2,375 days at least", said, StringComparison.Ordinal);
        Assert.Contains("value=\"30\"", said, StringComparison.Ordinal);
        var unread = await office.PostFormAsync("/records/retention", Form(periods, "letters_to_pupils", "many"));
        Assert.Contains("class=\"problems\"", await unread.TextAsync(), StringComparison.Ordinal);
        var saved = await office.PostFormAsync("/records/retention", Form(periods, "kept_answers", "5"));
        Assert.Equal(HttpStatusCode.Redirect, saved.StatusCode);
        Assert.Equal(5, await DaysAsync(api, "kept_answers"));
    }

    private static (string Name, string Value)[] Form(IReadOnlyList<(string Code, int Days)> periods, string code, string days) =>
    [
        ("RowVersion", "1"),
        .. periods.SelectMany((period, n) => new[] { ($"Periods[{n}].Code", period.Code), ($"Periods[{n}].Days", period.Code == code ? days : $"{period.Days}") }),
    ];

    private static object Body(params (string Code, int Days)[] periods) => new { periods = periods.Select(period => new { code = period.Code, days = period.Days }) };

    private static Task<HttpResponseMessage> PutAsync(HttpClient office, params (string Code, int Days)[] periods) => office.SendAsync(Put, Url, Body(periods), ("If-Match", "*"));

    private static async Task<int> DaysAsync(HttpClient office, string code) =>
        (await office.GetJsonAsync(Url)).GetProperty("periods").EnumerateArray().Single(period => period.GetProperty("code").GetString() == code).GetProperty("days").GetInt32();

    private static async Task<long> DueAsync(HttpClient office, string code) =>
        (await office.GetJsonAsync($"{Url}/kinds")).GetProperty("kinds").EnumerateArray().Single(kind => kind.GetProperty("code").GetString() == code).GetProperty("dueNow").GetInt64();
}
