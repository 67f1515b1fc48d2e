using System.Net;
using System.Net.Http.Json;
using Microsoft.EntityFrameworkCore;
using School.Tests;
using School.Web.Modules.People;
using School.Web.Modules.Records;
using School.Web.Platform.Database;
using School.Web.Tests.Host;

namespace School.Web.Tests.People;

public sealed class InstructorsApiTests(TestPostgres postgres)
{
    private const string All = "/api/v1/instructors";

    [Fact]
    public async Task The_office_adds_reads_and_changes_an_instructor()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var api = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var made = await api.PostAsJsonAsync(All, Wish());
        Assert.Equal(HttpStatusCode.Created, made.StatusCode);
        var at = made.Headers.Location!.OriginalString;
        Assert.Equal("\"1\"", made.Headers.ETag!.Tag);

        var read = await (await api.GetAsync(at)).JsonAsync();
        Assert.Equal("Marigold Ashby", read.GetProperty("name").GetString());
        Assert.Equal("+441632960123", read.GetProperty("phone").GetString());
        Assert.Equal("approved", read.GetProperty("registration").GetString());
        Assert.Equal("AB12345", read.GetProperty("registrationNumber").GetString());
        Assert.Equal(["manual", "automatic"], read.GetProperty("teaches").EnumerateArray().Select(g => g.GetString()));
        Assert.Equal(52.4, read.GetProperty("base").GetProperty("latitude").GetDouble());

        var changed = await api.SendAsync(HttpMethod.Put, at, Wish(name: "Marigold Ashby-Fenn"), ("If-Match", "\"1\""));
        Assert.Equal(HttpStatusCode.OK, changed.StatusCode);
        Assert.Equal("\"2\"", changed.Headers.ETag!.Tag);
        var again = await api.GetAsync(at);
        Assert.Equal("Marigold Ashby-Fenn", (await again.JsonAsync()).GetProperty("name").GetString());
        Assert.Equal("\"2\"", again.Headers.ETag!.Tag);
        Assert.Equal(
            ["instructor.add", "instructor.change"],
            await host.WithDbAsync(db => db.Set<AuditEntry>().Where(a => EF.Functions.Like(a.What, "instructor.%")).OrderBy(a => a.Id).Select(a => a.What).ToListAsync()));
    }

    [Fact]
    public async Task Every_wrong_field_is_named_and_nothing_is_saved()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var api = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var answer = await api.PostAsJsonAsync(All, new
        {
            name = "\u202e \u0007",
            email = "marigold at larkfield",
            phone = "12",
            teaches = Array.Empty<string>(),
            registration = "trainee",
            registrationNumber = "12345-67890-123",
            registeredTo = "2150-01-01",
            dailyTeachingMinutes = 1441,
            @base = new { label = "", address = "1 Mill Lane", latitude = 91, longitude = -1.2 },
        });
        Assert.Equal(
            [
                "base.label", "base.latitude", "dailyTeachingMinutes", "email", "name", "phone", "registeredTo",
                "registrationNumber",
            ],
            await answer.WrongFieldsAsync());
        Assert.False(await host.WithDbAsync(db => db.Set<Instructor>().AnyAsync()));
    }

    [Theory]
    [InlineData("{}")]
    [InlineData("{\"name\":\"A\",\"salary\":1}")]
    [InlineData("{\"registration\":\"examiner\"}")]
    [InlineData("[1]")]
    [InlineData("{\"name\":")]
    [InlineData("null")]
    [InlineData("")]
    public async Task A_body_that_is_no_instructor_is_a_400(string body)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var api = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var answer = await api.PostAsync(All, new StringContent(body, new System.Net.Http.Headers.MediaTypeHeaderValue("application/json")));
        Assert.Equal(HttpStatusCode.BadRequest, answer.StatusCode);
        Assert.Equal("invalid", await answer.CodeAsync());
    }

    [Fact]
    public async Task Last_day_before_first_day_is_refused_and_a_trainees_first_day_stays_once_it_is_known()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var api = await host.ApiAsAsync(await host.Data.OfficeAsync());
        Assert.Equal(["registeredTo"], await (await api.PostAsJsonAsync(All, Wish(from: "2028-01-01", to: "2027-12-31"))).WrongFieldsAsync());
        var made = await api.PostAsJsonAsync(All, Wish(registration: "trainee", from: null));
        Assert.Equal(HttpStatusCode.Created, made.StatusCode);
        var half = await made.JsonAsync();
        Assert.Equal(["registeredFrom"], half.GetProperty("stillNeeded").EnumerateArray().Select(need => need.GetString()));
        var url = made.Headers.Location!.ToString();
        Assert.Empty((await (await api.SendAsync(HttpMethod.Put, url, Wish(registration: "trainee"), ("If-Match", "*"))).JsonAsync()).GetProperty("stillNeeded").EnumerateArray());
        Assert.Equal(["registeredFrom"], await (await api.SendAsync(HttpMethod.Put, url, Wish(registration: "trainee", from: null), ("If-Match", "*"))).WrongFieldsAsync());
        Assert.Equal(HttpStatusCode.Created, (await api.PostAsJsonAsync(All, Wish(registration: "trainee", from: "2026-01-01", to: "2026-06-30"))).StatusCode);
    }

    [Fact]
    public async Task Only_a_trainee_has_an_option_and_only_an_application_made_in_time_is_taken()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var api = await host.ApiAsAsync(await host.Data.OfficeAsync());
        Assert.Equal(
            ["appliedAgainOn", "traineeOption"], await (await api.PostAsJsonAsync(All, Wish(option: "supervision", appliedAgainOn: "2027-01-01"))).WrongFieldsAsync());
        Assert.Equal(["appliedAgainOn"], await (await api.PostAsJsonAsync(All, Trainee("2026-07-01"))).WrongFieldsAsync());

        // Nobody applies tomorrow: the licence would go on from an application that was never made.
        host.Clock.Reset(NodaTime.Instant.FromUtc(2026, 6, 29, 9, 0));
        Assert.Equal(["appliedAgainOn"], await (await api.PostAsJsonAsync(All, Trainee("2026-06-30"))).WrongFieldsAsync());
        host.Clock.Reset(NodaTime.Instant.FromUtc(2026, 6, 30, 9, 0));
        var made = await api.PostAsJsonAsync(All, Trainee("2026-06-30"));
        var read = await (await api.GetAsync(made.Headers.Location)).JsonAsync();
        Assert.Equal(("training", "2026-06-30"), (read.GetProperty("traineeOption").GetString(), read.GetProperty("appliedAgainOn").GetString()));
        host.Clock.Reset(NodaTime.Instant.FromUtc(2026, 7, 2, 9, 0));
        var attention = await (await api.GetAsync("/api/v1/attention")).TextAsync();
        Assert.Contains("another was applied for on Tuesday 30 June 2026, so it goes on until that is decided", attention, StringComparison.Ordinal);

        static object Trainee(string appliedAgainOn) => Wish(registration: "trainee", from: "2026-01-01", to: "2026-06-30", option: "training", appliedAgainOn: appliedAgainOn);
    }

    [Theory]
    [InlineData("Zoë 🚗 Ó Briain", "Zoë 🚗 Ó Briain")]
    [InlineData("نور الهدى", "نور الهدى")]
    [InlineData("  Marigold \t\u202eAshby\u2069 ", "Marigold Ashby")]
    [InlineData("<script>alert(1)</script>", "<script>alert(1)</script>")]
    public async Task Names_of_every_script_are_kept_without_what_is_invisible_or_turns_text_round(string typed, string kept)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var api = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var made = await api.PostAsJsonAsync(All, Wish(name: typed));
        Assert.Equal(kept, (await made.JsonAsync()).GetProperty("name").GetString());
    }

    [Fact]
    public async Task A_stale_version_is_412_and_a_missing_one_428()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        using var api = await host.ApiAsAsync(await host.Data.OfficeAsync());
        foreach (var (method, at, body) in new (HttpMethod, string, object)[]
        {
            (HttpMethod.Put, $"{All}/{instructor.Id}", Wish(name: "Somebody Else")),
            (HttpMethod.Post, $"{All}/{instructor.Id}/retire", new { on = "2026-03-01" }),
        })
        {
            Assert.Equal(HttpStatusCode.PreconditionFailed, (await api.SendAsync(method, at, body, ("If-Match", "\"7\""))).StatusCode);
            Assert.Equal(HttpStatusCode.PreconditionRequired, (await api.SendAsync(method, at, body)).StatusCode);
        }

        Assert.Equal("Marigold Ashby", await host.WithDbAsync(db => db.Set<Instructor>().Where(i => i.RetiredOn == null).Select(i => i.Name).SingleAsync()));
    }

    [Fact]
    public async Task Two_changes_of_the_same_version_at_once_leave_one_winner()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        using var api = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var answers = await Task.WhenAll(Enumerable.Range(0, 8).Select(
            n => api.SendAsync(HttpMethod.Put, $"{All}/{instructor.Id}", Wish(name: $"Name {n}"), ("If-Match", "\"1\""))));
        Assert.Equal(1, answers.Count(a => a.StatusCode == HttpStatusCode.OK));
        Assert.Equal(7, answers.Count(a => a.StatusCode == HttpStatusCode.PreconditionFailed));
    }

    [Fact]
    public async Task A_repeated_idempotency_key_adds_one_instructor()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var api = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var answers = await Task.WhenAll(Enumerable.Range(0, 6).Select(_ => api.SendAsync(HttpMethod.Post, All, Wish(), ("Idempotency-Key", "one-and-the-same"))));
        Assert.All(answers, answer => Assert.Equal(HttpStatusCode.Created, answer.StatusCode));
        Assert.Single(answers.Select(a => a.Headers.Location!.OriginalString).Distinct());
        Assert.Equal(1, await host.WithDbAsync(db => db.Set<Instructor>().CountAsync()));

        var other = await api.SendAsync(HttpMethod.Post, All, Wish(name: "Another"), ("Idempotency-Key", "one-and-the-same"));
        Assert.Equal(HttpStatusCode.UnprocessableEntity, other.StatusCode);
        Assert.Equal("key_used_before", await other.CodeAsync());
    }

    [Fact]
    public async Task An_unknown_instructor_is_404_for_every_verb()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var api = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var at = $"{All}/{RowId.New()}";
        Assert.Equal(HttpStatusCode.NotFound, (await api.GetAsync(at)).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await api.SendAsync(HttpMethod.Put, at, Wish(), ("If-Match", "\"1\""))).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await api.SendAsync(HttpMethod.Post, $"{at}/retire", new { on = "2026-03-01" }, ("If-Match", "\"1\""))).StatusCode);
    }

    [Fact]
    public async Task Somebody_who_retires_leaves_the_list_keeps_the_row_and_signs_in_no_more()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        using var own = await host.ApiAsAsync(await host.Data.PersonAsync(instructor));
        using var api = await host.ApiAsAsync(await host.Data.OfficeAsync());
        Assert.Equal(HttpStatusCode.OK, (await own.GetAsync(All)).StatusCode);

        var retired = await api.SendAsync(HttpMethod.Post, $"{All}/{instructor.Id}/retire", new { on = "2026-03-02" }, ("If-Match", "\"1\""));
        Assert.Equal("2026-03-02", (await retired.JsonAsync()).GetProperty("retiredOn").GetString());
        Assert.Equal(0, (await (await api.GetAsync(All)).JsonAsync()).GetProperty("items").GetArrayLength());
        Assert.Equal(1, (await (await api.GetAsync($"{All}?retired=true")).JsonAsync()).GetProperty("items").GetArrayLength());
        Assert.Equal(HttpStatusCode.OK, (await api.GetAsync($"{All}/{instructor.Id}")).StatusCode);
        Assert.Equal(HttpStatusCode.Unauthorized, (await own.GetAsync(All)).StatusCode);

        var back = await api.SendAsync(HttpMethod.Post, $"{All}/{instructor.Id}/retire", new { on = (string?)null }, ("If-Match", retired.Headers.ETag!.Tag));
        Assert.Equal(System.Text.Json.JsonValueKind.Null, (await back.JsonAsync()).GetProperty("retiredOn").ValueKind);
    }

    [Fact]
    public async Task Colleagues_do_not_see_where_an_instructor_lives_and_pupils_see_no_instructor()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var one = await host.Data.InstructorAsync();
        var other = await host.Data.InstructorAsync("Alder Fenwick");
        using var own = await host.ApiAsAsync(await host.Data.PersonAsync(one));
        Assert.Equal("12 Mill Lane, Larkfield", (await (await own.GetAsync($"{All}/{one.Id}")).JsonAsync()).GetProperty("base").GetProperty("address").GetString());
        var colleague = await (await own.GetAsync($"{All}/{other.Id}")).JsonAsync();
        Assert.Equal("Alder Fenwick", colleague.GetProperty("name").GetString());
        Assert.Equal(System.Text.Json.JsonValueKind.Null, colleague.GetProperty("base").ValueKind);
        Assert.Equal(System.Text.Json.JsonValueKind.Null, colleague.GetProperty("registrationNumber").ValueKind);

        using var pupil = await host.ApiAsAsync(await host.Data.PersonAsync(await host.Data.PupilAsync()));
        Assert.Equal(HttpStatusCode.Forbidden, (await pupil.GetAsync(All)).StatusCode);
        Assert.Equal(HttpStatusCode.Forbidden, (await pupil.GetAsync($"{All}/{one.Id}")).StatusCode);
        Assert.Equal(HttpStatusCode.Forbidden, (await own.PostAsJsonAsync(All, Wish())).StatusCode);
    }

    [Theory]
    [InlineData("limit=1000000", "limit")]
    [InlineData("limit=0", "limit")]
    [InlineData("cursor=nonsense!", "cursor")]
    public async Task A_list_takes_only_a_sensible_page(string query, string field)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var api = await host.ApiAsAsync(await host.Data.OfficeAsync());
        Assert.Equal([field], await (await api.GetAsync($"{All}?{query}")).WrongFieldsAsync());
    }

    [Fact]
    public async Task Pages_of_the_list_hold_everybody_once()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        for (var n = 0; n < 5; n++)
        {
            await host.Data.InstructorAsync($"Instructor {n}");
        }

        using var api = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var seen = new List<string>();
        for (var cursor = ""; cursor is not null;)
        {
            var page = await (await api.GetAsync($"{All}?limit=2{(cursor.Length > 0 ? $"&cursor={cursor}" : "")}")).JsonAsync();
            seen.AddRange(page.GetProperty("items").EnumerateArray().Select(i => i.GetProperty("name").GetString()!));
            cursor = page.GetProperty("next").GetString();
        }

        Assert.Equal(Enumerable.Range(0, 5).Select(n => $"Instructor {n}"), seen);
    }

    internal static object Wish(string name = "Marigold Ashby", string registration = "approved", string? from = "2024-01-01", string to = "2028-01-31",
        string? option = null, string? appliedAgainOn = null) => new
        {
            name,
            email = "marigold@larkfield.example",
            phone = "01632 960123",
            teaches = new[] { "automatic", "manual", "manual" },
            registration,
            registrationNumber = "ab 12345",
            registeredFrom = from,
            registeredTo = to,
            dailyTeachingMinutes = 420,
            traineeOption = option,
            appliedAgainOn,
            @base = new { label = "Mill Lane", address = "12 Mill Lane, Larkfield", position = "geo:52.4,-1.2" },
        };
}
