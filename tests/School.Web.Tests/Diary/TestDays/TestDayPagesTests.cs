using System.Net;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary.TestDays;
using School.Core.Diary.Time;
using School.Tests;
using School.Web.Modules.Diary.TestDays;
using School.Web.Tests.Calendars;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.TestDays;

/// <summary>The pages that show and keep test days, and the calendars. The clock stands at Monday 2 March 2026, 08:00.</summary>
public sealed class TestDayPagesTests(TestPostgres postgres)
{
    private static readonly (string, string)[] Filled =
    [
        ("Input.Date", "2026-04-14"), ("Input.Time", "10:14"), ("Input.Centre.Label", "Northgate"), ("Input.Centre.Address", "1 Northgate, Larkfield"),
        ("Input.Centre.Position", "52.41, -1.19"), ("Input.Nation", "england-and-wales"), ("Input.Reference", "41000007"), ("Input.Gearbox", "Manual"),
    ];

    [Fact]
    public async Task A_form_that_is_not_right_keeps_what_was_typed_and_says_why()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));

        var tooShort = await (await browser.PostFormAsync("/diary/test-days/new", [.. Filled, ("Input.Minutes", "5")])).TextAsync();
        var past = await (await browser.PostFormAsync("/diary/test-days/new", [.. Filled.Where(f => f.Item1 != "Input.Date"), ("Input.Date", "2026-02-24")])).TextAsync();

        Assert.Contains("From 10 to 180 minutes.", tooShort, StringComparison.Ordinal);
        Assert.Contains("value=\"41000007\"", tooShort, StringComparison.Ordinal);
        Assert.Contains("together with its result", past, StringComparison.Ordinal);
        Assert.Contains("Only the learner may book, move or cancel an official test, since 12 May 2026", past, StringComparison.Ordinal);
        Assert.Equal(0, await host.WithDbAsync(db => db.Set<TestDay>().CountAsync()));
    }

    /// <summary>What most tests need is asked; what is mostly left as it is stands folded, and the result is asked for once the test is over.</summary>
    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task The_form_asks_only_for_what_is_needed_and_folds_the_rest(bool staff)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        using var browser = await host.PagesAsAsync(staff ? await host.Data.OfficeAsync() : await host.Data.PersonAsync(pupil));
        var page = $"/diary/test-days/new{(staff ? $"?pupilId={pupil.Id}" : "")}";
        async Task<List<string>> AskedAsync() =>
        [
            .. System.Text.RegularExpressions.Regex.Matches(System.Text.RegularExpressions.Regex.Replace(
                    (await (await browser.GetAsync(page)).Content.ReadAsStringAsync()).Split("<main")[1].Split("</main>")[0], "<details (?![^>]*open)[^>]*>.*?</details>", "", System.Text.RegularExpressions.RegexOptions.Singleline),
                "name=\"Input[.]([A-Za-z.]+)\"").Select(field => field.Groups[1].Value).Distinct(),
        ];
        string[] whose = staff ? ["PupilId"] : [];
        string[] alongside = staff ? ["InstructorId", "Car", "InsuredForTest"] : [];
        // Nobody has entered a centre yet.
        Assert.Equal([.. whose, "Date", "Time", "Centre.Label", "Centre.Postcode", "Centre.Address", "Centre.Position", "Nation", "Gearbox", .. alongside], await AskedAsync());
        Assert.Equal(HttpStatusCode.Redirect, (await browser.PostFormAsync(page, [.. Filled, .. staff ? [("Input.PupilId", $"{pupil.Id}")] : Array.Empty<(string, string)>()])).StatusCode);
        Assert.Equal([.. whose, "Date", "Time", "SameCentreAs", "Gearbox", .. alongside], await AskedAsync());
    }

    [Fact]
    public async Task Earlier_test_days_are_shown_in_parts_the_latest_first()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (pupil, instructor) = (await host.Data.PupilAsync(), await host.Data.InstructorAsync());
        for (var week = 1; week <= 26; week++)
        {
            var facts = new TestDayFacts(
                host.Clock.GetCurrentInstant() - Duration.FromDays(7 * week), Duration.FromMinutes(40), 60, 20, TestData.PlaceAt(label: $"Centre {week:00}"), Nation.EnglandAndWales, pupil.PickUp, false, "",
                pupil.Gearbox!.Value, instructor.Id, null, OwnCar: true);
            var test = TestDay.Enter(pupil.Id, facts, host.Clock.GetCurrentInstant());
            test.Record(TestEnding.Completed, false, new(3, 1, 0), [], 0, 0, "");
            await host.AddAsync(test);
        }

        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var (first, second) = (await office.GetStringAsync("/diary/test-days"), await office.GetStringAsync("/diary/test-days?part=2"));
        Assert.True(first.Contains("Centre 25", StringComparison.Ordinal) && first.Contains("/diary/test-days?part=2", StringComparison.Ordinal));
        Assert.DoesNotContain("Centre 26", first, StringComparison.Ordinal);
        Assert.True(second.Contains("Centre 26", StringComparison.Ordinal) && second.Contains("/diary/test-days?part=1", StringComparison.Ordinal));
        Assert.DoesNotContain("Centre 25", second, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_test_day_stands_on_the_pages_of_pupil_instructor_and_office()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync(instructor: instructor.Id);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        using var own = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        using var teacher = await host.PagesAsAsync(await host.Data.PersonAsync(instructor));

        var entered = await office.PostFormAsync(
            "/diary/test-days/new", [.. Filled, ("Input.PupilId", pupil.Id.ToString()), ("Input.InstructorId", instructor.Id.ToString()), ("Input.Car", "other")]);

        Assert.Equal(HttpStatusCode.Redirect, entered.StatusCode);
        var address = entered.Headers.Location!.OriginalString;
        var page = await PageAsync(own, address);
        Assert.Contains("Monday 30 March 2026", page, StringComparison.Ordinal);
        Assert.Contains("check the official page", page, StringComparison.Ordinal);
        Assert.Contains("extra interior mirror", page, StringComparison.Ordinal);
        Assert.Contains("Tuesday 14 April, 10:14", await PageAsync(own, "/diary/home"), StringComparison.Ordinal);
        Assert.Contains("10:14 at Northgate", await PageAsync(teacher, "/diary/day?date=2026-04-14"), StringComparison.Ordinal);
        Assert.Contains("test at 10:14", await PageAsync(teacher, "/diary/week?date=2026-04-14"), StringComparison.Ordinal);
        Assert.Contains("test at 10:14", await PageAsync(office, "/diary/board?date=2026-04-14"), StringComparison.Ordinal);
        Assert.Contains("test at 10:14", await PageAsync(office, "/diary/board?date=2026-04-14&view=list"), StringComparison.Ordinal);
        Assert.Contains("Northgate: Booked", await PageAsync(office, $"/pupils/{pupil.Id}"), StringComparison.Ordinal);
        Assert.Contains("Tamsin Oakley", await PageAsync(office, "/diary/test-days"), StringComparison.Ordinal);
        // The centre is offered the next time, and the form is filled with what stands.
        Assert.Contains("Northgate</option>", await PageAsync(office, "/diary/test-days/new"), StringComparison.Ordinal);
        Assert.Contains("value=\"41000007\"", await PageAsync(office, $"{address}/change"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_result_is_recorded_on_its_page_by_heading_and_asked_about_when_it_goes_against_the_rule()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var entered = await office.PostFormAsync("/diary/test-days/new", [.. Filled, ("Input.PupilId", pupil.Id.ToString()), ("Input.Car", "other")]);
        var page = $"{entered.Headers.Location!.OriginalString}/result";
        host.Clock.Reset(London(2026, 4, 14, 12));
        using var later = await host.PagesAsAsync(await host.Data.OfficeAsync("Linnet Brook"));
        (string, string)[] marks =
        [
            ("Input.Version", "1"), ("Input.Driving", "1"), ("Input.Serious", "1"), ("Input.Dangerous", "0"),
            ("Input.Faults[21-observation].Driving", "1"), ("Input.Faults[21-observation].Serious", "1"), ("Input.Faults[18].Driving", ""),
        ];

        var asked = await (await later.PostFormAsync(page, [.. marks, ("Input.Outcome", "passed")])).TextAsync();
        var saved = await later.PostFormAsync(page, [.. marks, ("Input.Outcome", "failed")]);

        Assert.Contains("is failed by the rule", asked, StringComparison.Ordinal);
        Assert.Contains("as the examiner gave them", asked, StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.Redirect, saved.StatusCode);
        var shown = await PageAsync(later, saved.Headers.Location!.OriginalString);
        Assert.Contains("Junctions: observation", shown, StringComparison.Ordinal);
        Assert.Contains("Saturday 25 April 2026", shown, StringComparison.Ordinal);
        Assert.Contains("from memory", shown, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_test_of_the_past_is_entered_on_the_form_with_its_result()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        (string, string)[] past = [.. Filled.Where(f => f.Item1 != "Input.Date"), ("Input.Date", "2026-02-24"), ("Input.Taken", "true")];

        var missing = await (await browser.PostFormAsync("/diary/test-days/new", past)).TextAsync();
        var kept = await browser.PostFormAsync(
            "/diary/test-days/new", [.. past, ("Input.Result.Outcome", "passed"), ("Input.Result.Driving", "2"), ("Input.Result.Serious", "0"), ("Input.Result.Dangerous", "0")]);

        Assert.Contains("Choose how it ended.", missing, StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.Redirect, kept.StatusCode);
        Assert.Contains("Passed, with 2 driving faults", await PageAsync(browser, kept.Headers.Location!.OriginalString), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Calendars_show_the_time_kept_and_busy_ones_only_that()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync();
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var test = await office.EnteredAsync(pupil.Id, London(2026, 4, 14, 10, 14), ("instructorId", instructor.Id), ("ownCar", true));

        var full = Assert.Single((await host.CalendarAsync(await office.FeedAsync(new { instructorId = instructor.Id, detail = "full" }))).Events);
        var busy = Assert.Single((await host.CalendarAsync(await office.FeedAsync(new { instructorId = instructor.Id, detail = "busy" }))).Events);
        await office.SendJsonAsync(HttpMethod.Delete, $"{TestDayApi.Path}/{test.Id()}");
        var off = Assert.Single((await host.CalendarAsync(await office.FeedAsync(new { pupilId = pupil.Id, detail = "full" }))).Events);

        Assert.Equal(("Driving test at 10:14: Tamsin Oakley", "1 Northgate, Larkfield"), (full.Summary, full.Location));
        Assert.Equal(London(2026, 4, 14, 9, 14), Instant.FromDateTimeUtc(full.Start!.AsUtc));
        Assert.Equal(("Busy", null), (busy.Summary, busy.Location));
        Assert.Equal(("CANCELLED", 1), (off.Status, off.Sequence));
    }

    [Fact]
    public async Task The_office_changes_the_minutes_on_their_page()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        (string, string)[] numbers = [("Input.LeadMinutes", "45"), ("Input.TestMinutes", "40"), ("Input.ExtendedMinutes", "75"), ("Input.TailMinutes", "15"), ("Input.NoticeDays", "10"), ("Input.RetestDays", "10")];

        Assert.Contains("From 0 to 240 minutes.", await (await office.PostFormAsync("/diary/test-days/settings", [.. numbers.Skip(1), ("Input.LeadMinutes", "999"), ("Input.Version", "1")])).TextAsync(), StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.Redirect, (await office.PostFormAsync("/diary/test-days/settings", [.. numbers, ("Input.Version", "1")])).StatusCode);
        Assert.Equal(45, await host.WithDbAsync(db => db.Set<TestDaySettings>().Select(s => s.LeadMinutes).SingleAsync()));
    }

    private static async Task<string> PageAsync(HttpClient browser, string address)
    {
        var answer = await browser.GetAsync(address);
        var text = await answer.TextAsync();
        Assert.True(answer.StatusCode == HttpStatusCode.OK, $"{address}: {(int)answer.StatusCode}\n{text}");
        return text;
    }
}
