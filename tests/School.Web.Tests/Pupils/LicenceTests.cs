using System.Net;
using System.Net.Http.Json;
using School.Tests;
using School.Web.Modules.Pupils;
using School.Web.Tests.Diary.TestDays;
using School.Web.Tests.Host;

namespace School.Web.Tests.Pupils;

/// <summary>The licence by kind, what it stops, and what a failed eyesight check stops.</summary>
public sealed class LicenceTests(TestPostgres postgres)
{
    private static readonly object Provisional = new { kind = "provisional", validFrom = "2024-05-04" };

    [Fact]
    public async Task A_licence_is_told_as_it_was_sent_and_a_provisional_one_may_be_sent_by_its_first_day_alone()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        var rosalind = await host.Data.OfficeAsync();
        using var office = await host.ApiAsAsync(rosalind);
        var foreign = new { kind = "foreign", validFrom = "2015-01-01", validUntil = "2030-01-01", residentSince = "2026-01-05", issuedInEea = false, conditions = new[] { "78", "01", "01" } };
        await EnterAsync(office, pupil, foreign);

        var told = (await (await office.GetAsync($"/api/v1/pupils/{pupil.Id}")).JsonAsync()).GetProperty("licence");
        Assert.Equal(
            ("foreign", "2015-01-01", "2030-01-01", "2026-01-05"),
            (told.GetProperty("kind").GetString(), told.GetProperty("validFrom").GetString(), told.GetProperty("validUntil").GetString(), told.GetProperty("residentSince").GetString()));
        Assert.Equal(["01", "78"], told.GetProperty("conditions").EnumerateArray().Select(code => code.GetString()));
        var papers = await (await office.GetAsync($"/api/v1/pupils/{pupil.Id}/papers")).JsonAsync();
        Assert.Equal(("2026-03-02", rosalind.Id), (papers.GetProperty("licenceSeenOn").GetString(), papers.GetProperty("licenceSeenBy").GetGuid()));

        // Papers without a licence leave it as it is.
        Assert.Equal(HttpStatusCode.OK, (await office.SendAsync(
            HttpMethod.Put, $"/api/v1/pupils/{pupil.Id}/papers", new { theoryPassedOn = "2025-06-01" }, ("If-Match", "*"))).StatusCode);
        Assert.Equal("foreign", (await (await office.GetAsync($"/api/v1/pupils/{pupil.Id}")).JsonAsync()).GetProperty("licence").GetProperty("kind").GetString());

        var made = await office.PostAsJsonAsync("/api/v1/pupils", Tamsin.With("provisionalFrom", "2025-01-01"));
        Assert.Equal("provisional 2025-01-01", await KindAsync(made));
        var both = Tamsin.With("licence", Provisional);
        Assert.Equal(["provisionalFrom"], await (await office.PostAsJsonAsync("/api/v1/pupils", both.With("provisionalFrom", "2024-06-01"))).WrongFieldsAsync());
        Assert.Equal("provisional 2024-05-04", await KindAsync(await office.PostAsJsonAsync("/api/v1/pupils", both.With("provisionalFrom", "2024-05-04"))));

        // Who knows only the first day sends back what was told, and the rest of the card stays.
        var card = new { kind = "provisional", validFrom = "2024-05-04", validUntil = "2034-05-03", conditions = new[] { "01" } };
        using var whole = await office.PostAsJsonAsync("/api/v1/pupils", both.With("provisionalFrom", null).With("licence", card));
        var id = (await whole.JsonAsync()).GetProperty("id").GetGuid();
        using var back = await office.SendAsync(
            HttpMethod.Put, $"/api/v1/pupils/{id}", Tamsin.With("licence", null).With("provisionalFrom", (await whole.JsonAsync()).GetProperty("provisionalFrom").GetString()), ("If-Match", "*"));
        Assert.Equal("2034-05-03", (await back.JsonAsync()).GetProperty("licence").GetProperty("validUntil").GetString());
        Assert.Equal("provisional 2024-05-04", await KindAsync(await office.PostAsJsonAsync("/api/v1/pupils", both.With("provisionalFrom", null))));

        static async Task<string> KindAsync(HttpResponseMessage made)
        {
            var licence = (await made.JsonAsync()).GetProperty("licence");
            return $"{licence.GetProperty("kind").GetString()} {licence.GetProperty("validFrom").GetString()}";
        }
    }

    [Fact]
    public async Task All_that_is_wrong_with_a_licence_is_said_at_once_and_nothing_is_kept()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        async Task<IEnumerable<string>> WrongAsync(object licence) => await (await SendAsync(office, pupil, licence)).WrongFieldsAsync();

        Assert.Equal(["licence.kind"], await WrongAsync(new { validFrom = "2024-05-04" }));
        Assert.Equal(
            ["licence.conditions", "licence.disqualifiedUntil", "licence.issuedInEea", "licence.residentSince", "licence.validUntil"],
            await WrongAsync(new
            {
                kind = "provisional",
                validFrom = "2024-05-04",
                validUntil = "2024-05-03",
                residentSince = "2025-01-01",
                disqualifiedUntil = "2027-01-01",
                issuedInEea = true,
                conditions = new[] { "glasses" },
            }));
        Assert.Equal(["licence.residentSince", "licence.validFrom"], await WrongAsync(new { kind = "foreign" }));
        Assert.Equal(["licence.disqualifiedUntil"], await WrongAsync(new { kind = "disqualified" }));
        Assert.Equal(["licence.validFrom"], await WrongAsync(new { kind = "fullManual", validFrom = "2020-01-01" })); // born in 2007
        Assert.Equal(1, (await host.WithDbAsync(db => db.Set<Pupil>().FindAsync(pupil.Id).AsTask()))!.Version);
    }

    // Monday 2 March 2026; the lesson is on Tuesday the 10th of March.
    [Theory]
    [InlineData("{\"kind\":\"fullManual\",\"validFrom\":\"2025-01-01\"}", null)]
    [InlineData("{\"kind\":\"fullAutomatic\",\"validFrom\":\"2025-01-01\"}", null)]
    [InlineData("{\"kind\":\"foreign\",\"validFrom\":\"2025-01-01\",\"residentSince\":\"2025-03-11\"}", null)]
    [InlineData("{\"kind\":\"foreign\",\"validFrom\":\"2025-01-01\",\"residentSince\":\"2025-03-10\"}", "foreign_licence_ended")]
    [InlineData("{\"kind\":\"foreign\",\"validFrom\":\"2025-01-01\",\"residentSince\":\"2026-01-10\",\"conditions\":[\"78\"]}", "no_provisional_licence")]
    [InlineData("{\"kind\":\"foreign\",\"validFrom\":\"2025-01-01\",\"residentSince\":\"2025-03-10\",\"provisional\":{\"validFrom\":\"2025-06-01\"}}", null)]
    [InlineData("{\"kind\":\"foreign\",\"validFrom\":\"2025-01-01\",\"residentSince\":\"2025-03-10\",\"provisional\":{\"validFrom\":\"2025-06-01\",\"validUntil\":\"2026-03-09\"}}", "foreign_licence_ended")]
    [InlineData("{\"kind\":\"foreign\",\"validFrom\":\"2025-01-01\",\"residentSince\":\"2026-01-10\",\"conditions\":[\"78\"],\"provisional\":{\"validFrom\":\"2025-06-01\"}}", null)]
    [InlineData("{\"kind\":\"provisional\",\"validFrom\":\"2024-05-04\",\"validUntil\":\"2026-03-10\"}", null)]
    [InlineData("{\"kind\":\"provisional\",\"validFrom\":\"2024-05-04\",\"validUntil\":\"2026-03-09\"}", "licence_ended")]
    [InlineData("{\"kind\":\"disqualified\",\"disqualifiedUntil\":\"2026-03-10\"}", "disqualified")]
    [InlineData("{\"kind\":\"disqualified\",\"disqualifiedUntil\":\"2026-03-09\"}", "no_provisional_licence")]
    public async Task A_lesson_is_booked_on_any_licence_that_allows_it_and_refused_on_any_other(string licence, string? code)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (pupil, booking) = await BookingAsync(host);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        await EnterAsync(office, pupil, System.Text.Json.JsonDocument.Parse(licence).RootElement);

        var slots = await (await office.GetAsync($"/api/v1/slots?pupilId={pupil.Id}&minutes=60&from=2026-03-10&to=2026-03-10")).JsonAsync();
        var answer = await office.PostAsJsonAsync("/api/v1/lessons", booking);

        Assert.Equal(code is null, slots.GetProperty("items").GetArrayLength() > 0);
        Assert.Equal(code is null ? HttpStatusCode.Created : HttpStatusCode.UnprocessableEntity, answer.StatusCode);
        if (code is not null)
        {
            Assert.Equal(code, (await answer.JsonAsync()).GetProperty("code").GetString());
            Assert.Contains(code, slots.GetProperty("obstacles").EnumerateArray().Select(obstacle => obstacle.GetProperty("code").GetString()));
        }
    }

    [Fact]
    public async Task A_provisional_beside_a_foreign_licence_is_kept_told_listed_and_allows_a_test_and_stands_beside_no_other()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (pupil, _) = await BookingAsync(host);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var foreign = new { kind = "foreign", validFrom = "2020-01-01", residentSince = "2025-03-20", provisional = new { validFrom = "2025-06-01", validUntil = "2035-05-31" } };
        await EnterAsync(office, pupil, System.Text.Json.JsonSerializer.SerializeToElement(foreign));

        var read = await office.GetAsync($"/api/v1/pupils/{pupil.Id}");
        var licence = (await read.JsonAsync()).GetProperty("licence");
        Assert.Equal(("2025-06-01", "2035-05-31"), (licence.GetProperty("provisional").GetProperty("validFrom").GetString(), licence.GetProperty("provisional").GetProperty("validUntil").GetString()));
        // What was read can be sent back as it is.
        var same = await office.SendAsync(HttpMethod.Put, $"/api/v1/pupils/{pupil.Id}", await read.JsonAsync(), ("If-Match", read.Headers.ETag!.Tag));
        Assert.True(same.StatusCode == HttpStatusCode.OK, await same.Content.ReadAsStringAsync());
        var papers = (await (await office.GetAsync("/api/v1/papers")).JsonAsync()).GetProperty("items").EnumerateArray()
            .Select(paper => $"{paper.GetProperty("kind").GetString()} {paper.GetProperty("until").GetString()} {paper.GetProperty("stops").GetString()}").ToList();
        Assert.Contains("licence 2026-03-19 nothing", papers);
        Assert.Contains("provisionalLicence 2035-05-31 lesson", papers);
        var attention = await (await office.GetAsync("/api/v1/attention")).TextAsync();
        Assert.Contains("the foreign licence counts until 19 March 2026; after that lessons go on as a learner", attention, StringComparison.Ordinal);
        using var pages = await host.PagesAsAsync(await host.Data.OfficeAsync());
        Assert.Contains("besides a British provisional", await (await pages.GetAsync($"/pupils/{pupil.Id}")).TextAsync(), StringComparison.Ordinal);
        Assert.Matches("name=\"Licence.Provisional.ValidFrom.Year\"[^>]*value=\"2025\"", await (await pages.GetAsync($"/pupils/{pupil.Id}/papers")).TextAsync());

        foreach (var (wrong, fields) in new (object, string[])[]
        {
            (new { kind = "provisional", validFrom = "2025-06-01", provisional = new { validFrom = "2025-06-01" } }, ["licence.provisional.validFrom"]),
            (new { kind = "foreign", validFrom = "2020-01-01", residentSince = "2025-03-20", provisional = new { validUntil = "2035-05-31" } }, ["licence.provisional.validFrom"]),
            (new { kind = "foreign", validFrom = "2020-01-01", residentSince = "2025-03-20", provisional = new { validFrom = "2025-06-01", validUntil = "2025-05-31" } }, ["licence.provisional.validUntil"]),
        })
        {
            var refused = await office.SendAsync(HttpMethod.Put, $"/api/v1/pupils/{pupil.Id}/papers", new { licence = wrong }, ("If-Match", "*"));
            Assert.Equal(fields, await refused.WrongFieldsAsync());
        }
    }

    [Fact]
    public async Task When_a_disqualification_ends_is_told_under_attention_before_and_after()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (pupil, _) = await BookingAsync(host);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        foreach (var (until, told) in new[] { ("2026-04-02", null), ("2026-04-01", "ends on 1 April 2026. From the day after"), ("2026-02-20", "ended on 20 February 2026. Lessons can be booked again") })
        {
            await EnterAsync(office, pupil, System.Text.Json.JsonSerializer.SerializeToElement(new { kind = "disqualified", disqualifiedUntil = until }));
            var attention = await (await office.GetAsync("/api/v1/attention")).TextAsync();
            Assert.Equal(told is not null, attention.Contains("\"disqualification\"", StringComparison.Ordinal));
            Assert.Contains(told ?? "", attention, StringComparison.Ordinal);
        }
    }

    [Fact]
    public async Task A_licence_that_is_changed_to_end_before_a_booked_lesson_is_told_under_attention()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (pupil, booking) = await BookingAsync(host);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        Assert.Equal(HttpStatusCode.Created, (await office.PostAsJsonAsync("/api/v1/lessons", booking)).StatusCode);
        Assert.DoesNotContain("licence ends on", await AttentionAsync(office), StringComparison.Ordinal);

        await EnterAsync(office, pupil, new { kind = "provisional", validFrom = "2024-05-04", validUntil = "2026-03-09" });
        Assert.Contains("provisional licence ends on 9 March 2026", await AttentionAsync(office), StringComparison.Ordinal);

        await EnterAsync(office, pupil, new { kind = "provisional", validFrom = "2024-05-04", validUntil = "2026-03-10" });
        Assert.DoesNotContain("provisional licence ends on", await AttentionAsync(office), StringComparison.Ordinal);

        // What is past is told as past, where the pupil reads it and where the office books.
        await EnterAsync(office, pupil, new { kind = "provisional", validFrom = "2024-05-04", validUntil = "2026-03-01" });
        Assert.Contains("The pupil's provisional licence ended on 1 March 2026. Ask for the new one and enter it.", await AttentionAsync(office), StringComparison.Ordinal);
        using var own = await host.ApiAsAsync(await host.Data.PersonAsync(pupil));
        Assert.Contains("Your provisional licence ended on 1 March 2026.", await (await own.GetAsync($"/api/v1/pupils/{pupil.Id}/eligibility")).TextAsync(), StringComparison.Ordinal);
    }

    // Told 30 days before: common practice, no source.
    [Theory]
    [InlineData("2026-04-01", "the driving licence ends on 1 April 2026")]
    [InlineData("2026-04-02", null)]
    [InlineData("2026-03-01", "the driving licence ended on 1 March 2026")]
    public async Task A_licence_about_to_end_is_told_under_attention(string until, string? words)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        await EnterAsync(office, pupil, new { kind = "provisional", validFrom = "2024-05-04", validUntil = until });
        Assert.Equal(words is not null, (await AttentionAsync(office)).Contains(words ?? "driving licence", StringComparison.Ordinal));
    }

    // No theory test from automatic to manual: gov.uk/apply-emergency-theory-test, copy of 2020-21. A test is taken on a British licence: The Highway Code, Annex 3.
    [Theory]
    [InlineData("provisional", "theory_missing")]
    [InlineData("fullAutomatic", "")]
    [InlineData("foreign", "no_provisional_licence theory_missing")]
    public async Task A_test_day_asks_of_each_kind_of_licence_what_it_must(string kind, string expected)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        await EnterAsync(office, pupil, new { kind, validFrom = "2024-05-04", residentSince = kind == "foreign" ? "2026-01-05" : null });
        var warnings = (await office.EnteredAsync(pupil.Id, Diary.DiaryApi.London(2026, 5, 12, 10, 14))).Warnings()
            .Where(code => code is "theory_missing" or "no_provisional_licence").ToList();
        // Papers sent without the day of the theory test say that no certificate was seen.
        Assert.Equal(expected, string.Join(' ', warnings));
    }

    // The same source. A pass does not stand once the licence was lost: the provisional one that came after it begins anew.
    [Theory]
    [InlineData("2024-05-04", false)]
    [InlineData("2026-02-20", true)]
    public async Task Who_passed_in_an_automatic_and_goes_on_to_a_manual_needs_no_theory_test_whatever_card_they_carry(string cardFrom, bool asked)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        await EnterAsync(office, pupil, new { kind = "provisional", validFrom = cardFrom });
        await office.EnteredAsync(
            pupil.Id, Diary.DiaryApi.London(2026, 2, 10, 10, 14), ("gearbox", "automatic"), ("result", new { passed = true, driving = 2, serious = 0, dangerous = 0 }));
        var test = await office.EnteredAsync(pupil.Id, Diary.DiaryApi.London(2026, 5, 12, 10, 14), ("gearbox", "manual"));
        Assert.Equal(asked, test.Warnings().Contains("theory_missing"));
        Assert.DoesNotContain("passed_already", test.Warnings());
    }

    [Fact]
    public async Task A_failed_eyesight_check_stops_booking_until_one_is_passed()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (pupil, booking) = await BookingAsync(host);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        Task<HttpResponseMessage> CheckAsync(string on, bool passed) => office.PostAsJsonAsync($"/api/v1/pupils/{pupil.Id}/eyesight-check", new { on, passed });

        var failed = await (await CheckAsync("2026-03-02", false)).JsonAsync();
        Assert.Equal("2026-03-02", failed.GetProperty("eyesightFailedOn").GetString());
        Assert.Equal(System.Text.Json.JsonValueKind.Null, failed.GetProperty("eyesightCheckedOn").ValueKind);
        var refused = await office.PostAsJsonAsync("/api/v1/lessons", booking);
        Assert.Equal("eyesight_failed", (await refused.JsonAsync()).GetProperty("code").GetString());
        Assert.False((await (await office.GetAsync($"/api/v1/pupils/{pupil.Id}/eligibility")).JsonAsync()).GetProperty("mayDrive").GetBoolean());

        Assert.Equal(["on"], await (await CheckAsync("2026-03-01", true)).WrongFieldsAsync());
        Assert.Equal(HttpStatusCode.OK, (await CheckAsync("2026-03-02", true)).StatusCode);
        Assert.Equal(HttpStatusCode.Created, (await office.PostAsJsonAsync("/api/v1/lessons", booking)).StatusCode);
        Assert.Equal(["on"], await (await CheckAsync("2026-03-01", false)).WrongFieldsAsync());
    }

    [Fact]
    public async Task An_instructor_records_a_failed_check_and_a_licence_by_form()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync(instructor: instructor.Id);
        using var client = await host.PagesAsAsync(await host.Data.PersonAsync(instructor));
        Assert.Equal(HttpStatusCode.Redirect, (await client.PostFormAsync($"/pupils/{pupil.Id}/teaching?handler=Eyesight", ("On", "2026-03-02"), ("Passed", "false"))).StatusCode);
        Assert.Contains("failed on", await (await client.GetAsync($"/pupils/{pupil.Id}")).TextAsync(), StringComparison.Ordinal);

        Assert.Equal(HttpStatusCode.Redirect, (await client.PostFormAsync(
            $"/pupils/{pupil.Id}/papers", ("Version", "2"), ("Licence.Kind", "FullAutomatic"), ("Licence.ValidFrom", "2025-01-01"), ("Licence.ValidUntil", "2035-01-01"), ("Licence.Codes", "78, 01"))).StatusCode);
        var page = await (await client.GetAsync($"/pupils/{pupil.Id}")).TextAsync();
        Assert.Contains("full, automatics only, from Wednesday 1 January 2025, until Monday 1 January 2035; 01 (glasses or contact lenses), 78 (automatics only)", page, StringComparison.Ordinal);
        Assert.Contains("Drives as a learner", page, StringComparison.Ordinal);

        var wrong = await (await client.PostFormAsync($"/pupils/{pupil.Id}/papers", ("Version", "3"), ("Licence.ValidFrom", "2025-01-01"))).Content.ReadAsStringAsync();
        Assert.Contains("Say what kind of licence it is.", wrong, StringComparison.Ordinal);
    }

    private static async Task<(Pupil Pupil, object Booking)> BookingAsync(SchoolHost host)
    {
        var instructor = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync(instructor: instructor.Id);
        return (pupil, new { pupilId = pupil.Id, instructorId = instructor.Id, start = "2026-03-10T10:00:00+00:00", minutes = 60 });
    }

    private static Task<HttpResponseMessage> SendAsync(HttpClient office, Pupil pupil, object licence) =>
        office.SendAsync(HttpMethod.Put, $"/api/v1/pupils/{pupil.Id}/papers", new { licence }, ("If-Match", "*"));

    private static async Task EnterAsync(HttpClient office, Pupil pupil, object licence) =>
        Assert.Equal(HttpStatusCode.OK, (await SendAsync(office, pupil, licence)).StatusCode);

    private static async Task<string> AttentionAsync(HttpClient office) => await (await office.GetAsync("/api/v1/attention")).Content.ReadAsStringAsync();
}
