using System.Net;
using System.Net.Http.Json;
using System.Text.Json;
using System.Text.RegularExpressions;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using School.Tests;
using School.Web.Modules.Messages;
using School.Web.Modules.Pupils;
using School.Web.Platform.Access;
using School.Web.Tests.Host;
using School.Web.Tests.Messages;

namespace School.Web.Tests.Pupils;

/// <summary>Somebody of whom only a name and one way to reach them is known: what is asked for, when, and that no page or list assumes more.</summary>
public sealed partial class HalfKnownTests(TestPostgres postgres)
{
    private const string Pupils = "/api/v1/pupils";
    private const string Instructors = "/api/v1/instructors";
    private static readonly object ByPhone = new { name = "Corin Vale", phone = "07700 900123" };

    [Fact]
    public async Task What_is_folded_away_stays_so_unless_something_in_it_is_wrong()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var pages = await host.PagesAsAsync(await host.Data.OfficeAsync());
        Assert.Contains("<details class=\"other\">", await Refused(), StringComparison.Ordinal);
        Assert.Contains("<details class=\"other\" open", await Refused(("Input.Name", "Corin Vale"), ("Input.Phone", "07700 900123"), ("Input.PickUp.Postcode", "nonsense")), StringComparison.Ordinal);

        async Task<string> Refused(params (string Name, string Value)[] fields)
        {
            var html = await (await pages.PostFormAsync("/pupils/new", fields)).TextAsync();
            Assert.Contains("class=\"problems\"", html, StringComparison.Ordinal);
            return html;
        }
    }

    [Fact]
    public async Task A_name_and_a_phone_make_a_pupil_and_the_rest_is_listed_until_it_is_known()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var made = await office.PostAsJsonAsync(Pupils, ByPhone);
        Assert.Equal(HttpStatusCode.Created, made.StatusCode);
        var url = made.Headers.Location!.ToString();
        var pupil = await made.JsonAsync();
        Assert.Equal(("", "+447700900123"), (pupil.GetProperty("email").GetString(), pupil.GetProperty("phone").GetString()));
        Assert.All(["birthDate", "gearbox", "pickUp", "licence", "earliestLesson"], member => Assert.Equal(JsonValueKind.Null, pupil.GetProperty(member).ValueKind));

        var eligibility = await (await office.GetAsync($"{url}/eligibility")).JsonAsync();
        Assert.Equal(["birthDate", "gearbox", "pickUp", "licence", "eyesightCheckedOn"], Texts(eligibility.GetProperty("stillNeeded")));
        Assert.Equal(["details_missing", "eyesight_unchecked"], eligibility.GetProperty("items").EnumerateArray().Select(item => item.GetProperty("code").GetString()!));
        var id = pupil.GetProperty("id").GetGuid();
        Assert.Equal($"/pupils/{id}/change#Input_BirthDate_Day", (await WaitingAsync(office, "details_missing")).GetProperty("page").GetString());
        using var pages = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var card = await (await pages.GetAsync($"/pupils/{id}")).TextAsync();
        Assert.Contains("Still needed of the pupil before the first lesson: kind of car (manual or automatic), pick-up place.", card, StringComparison.Ordinal);
        Assert.All(["Gearbox", "PickUp_Label"], field => Assert.Contains($"/pupils/{id}/change#Input_{field}\"", card, StringComparison.Ordinal));
        Assert.Contains("see the driving licence, ask the date of birth", card, StringComparison.Ordinal);
        Assert.Contains($"href=\"/pupils/{id}/papers\"", card, StringComparison.Ordinal);
        var form = await (await pages.GetAsync($"/pupils/{id}/change")).TextAsync();
        Assert.All(["BirthDate_Day", "Gearbox", "Licence_Kind", "PickUp_Label", "Email"], field => Assert.Contains($"id=\"Input_{field}\"", form, StringComparison.Ordinal));

        // What was read can be sent back as it is.
        var same = await office.SendAsync(HttpMethod.Put, url, new { name = "Corin Vale", phone = "07700 900123", email = "", birthDate = (string?)null, gearbox = (string?)null, pickUp = (object?)null, licence = (object?)null }, ("If-Match", "\"1\""));
        Assert.Equal(HttpStatusCode.OK, same.StatusCode);
        var filled = await office.SendAsync(HttpMethod.Put, url, Tamsin.With("name", "Corin Vale"), ("If-Match", "*"));
        Assert.Equal(HttpStatusCode.OK, filled.StatusCode);
        Assert.DoesNotContain("details_missing", await (await office.GetAsync("/api/v1/attention")).TextAsync(), StringComparison.Ordinal);
        Assert.Equal(["eyesightCheckedOn"], Texts((await (await office.GetAsync($"{url}/eligibility")).JsonAsync()).GetProperty("stillNeeded")));
    }

    [Fact]
    public async Task Without_any_way_to_reach_nobody_is_added_and_what_was_known_is_not_left_out_again()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        foreach (var at in new[] { Pupils, Instructors })
        {
            Assert.Equal(["email", "name"], await (await office.PostAsJsonAsync(at, new { phone = " " })).WrongFieldsAsync());
            Assert.Equal(["email"], await (await office.PostAsJsonAsync(at, new { name = "Corin Vale", email = "corin at larkfield" })).WrongFieldsAsync());
            Assert.Equal(["phone"], await (await office.PostAsJsonAsync(at, new { name = "Corin Vale", email = "corin@larkfield.example", phone = "12" })).WrongFieldsAsync());
        }

        Assert.Equal(0, await host.WithDbAsync(db => db.Set<Pupil>().CountAsync()));
        var pupil = await host.Data.PupilAsync();
        Assert.Equal(
            ["birthDate", "gearbox", "pickUp"],
            await (await office.SendAsync(HttpMethod.Put, $"{Pupils}/{pupil.Id}", ByPhone, ("If-Match", "*"))).WrongFieldsAsync());
        Assert.Equal(
            ["pickUp.label", "pickUp.position"],
            await (await office.SendAsync(HttpMethod.Put, $"{Pupils}/{pupil.Id}/contact", new { phone = "07700 900123", pickUp = new { } }, ("If-Match", "*"))).WrongFieldsAsync());
        var instructor = await host.Data.InstructorAsync();
        Assert.Equal(
            ["base", "registeredTo", "registration", "registrationNumber", "teaches"],
            await (await office.SendAsync(HttpMethod.Put, $"{Instructors}/{instructor.Id}", ByPhone, ("If-Match", "*"))).WrongFieldsAsync());

        // A pupil who signs in keeps the address that their letters go to.
        using var own = await host.ApiAsAsync(await host.Data.PersonAsync(pupil));
        var contact = new { phone = "07700 900123", pickUp = new { label = "College", latitude = 52.41, longitude = -1.21 } };
        Assert.Equal(["email"], await (await own.SendAsync(HttpMethod.Put, $"{Pupils}/{pupil.Id}/contact", contact, ("If-Match", "*"))).WrongFieldsAsync());
    }

    [Fact]
    public async Task A_lesson_is_refused_with_what_a_car_and_a_place_are_looked_for_by_and_a_course_with_everything_and_the_form_that_asks_for_it_is_told()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var instructor = await host.Data.InstructorAsync();
        var made = await office.PostAsJsonAsync(Pupils, ByPhone);
        var id = (await made.JsonAsync()).GetProperty("id").GetGuid();
        var booking = new { pupilId = id, instructorId = instructor.Id, start = "2026-03-10T10:00:00Z", minutes = 60 };
        var refused = await office.PostAsJsonAsync("/api/v1/lessons", booking);
        Assert.Equal((HttpStatusCode.UnprocessableEntity, "details_missing"), (refused.StatusCode, await refused.CodeAsync()));
        var said = await refused.JsonAsync();
        Assert.Equal(["gearbox", "pickUp"], Texts(said.GetProperty("missing")));
        Assert.Equal($"/pupils/{id}/change#Input_Gearbox", said.GetProperty("page").GetString());
        // A course sells many hours at once, so licence and date of birth are asked before it.
        var course = await (await office.PostAsJsonAsync("/api/v1/courses", new { pupilId = id, instructorId = instructor.Id, minutes = 600, from = "2026-03-10", to = "2026-03-20" })).JsonAsync();
        Assert.Equal("details_missing", course.GetProperty("code").GetString());
        Assert.Equal(["birthDate", "gearbox", "licence", "pickUp"], Texts(course.GetProperty("missing")));
        Assert.Equal($"/pupils/{id}/change#Input_BirthDate_Day", course.GetProperty("page").GetString());
        var slots = await (await office.GetAsync($"/api/v1/slots?pupilId={id}&minutes=60&from=2026-03-10&to=2026-03-10")).JsonAsync();
        Assert.Equal($"/pupils/{id}/change#Input_Gearbox", slots.GetProperty("obstacles")[0].GetProperty("page").GetString());
        Assert.Equal((0, "details_missing"), (slots.GetProperty("items").GetArrayLength(), slots.GetProperty("obstacles")[0].GetProperty("code").GetString()));

        using var pages = await host.PagesAsAsync(await host.Data.OfficeAsync());
        foreach (var page in new[] { $"/diary/book?pupil={id}", $"/diary/lessons/new?pupilId={id}" })
        {
            var shown = await (await pages.GetAsync(page)).TextAsync();
            Assert.Contains($"/pupils/{id}/change#Input_PickUp_Label\"", shown, StringComparison.Ordinal);
            Assert.DoesNotContain("/diary/book/check", shown, StringComparison.Ordinal);
        }

        await office.SendAsync(HttpMethod.Put, $"{Pupils}/{id}", Tamsin.With("gearbox", "manual"), ("If-Match", "*"));
        Assert.Equal(HttpStatusCode.Created, (await office.PostAsJsonAsync("/api/v1/lessons", booking)).StatusCode);
    }

    [Fact]
    public async Task A_test_ahead_waits_for_what_is_missing_and_one_that_is_over_asks_only_for_the_gearbox()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var id = (await (await office.PostAsJsonAsync(Pupils, ByPhone)).JsonAsync()).GetProperty("id").GetGuid();
        object Test(string start, string? gearbox, object? result) => new
        {
            pupilId = id,
            start,
            centre = new { label = "Larkfield test centre", latitude = 52.42, longitude = -1.19 },
            nation = "england-and-wales",
            gearbox,
            result,
        };
        var ahead = await office.PostAsJsonAsync("/api/v1/test-days", Test("2026-04-14T09:00:00Z", "manual", null));
        Assert.Equal((HttpStatusCode.UnprocessableEntity, "details_missing"), (ahead.StatusCode, await ahead.CodeAsync()));
        var failed = new { passed = false, serious = 1, driving = 3, dangerous = 0 };
        Assert.Equal(["gearbox"], await (await office.PostAsJsonAsync("/api/v1/test-days", Test("2025-11-10T09:00:00Z", null, failed))).WrongFieldsAsync());
        var over = await office.PostAsJsonAsync("/api/v1/test-days", Test("2025-11-10T09:00:00Z", "automatic", failed));
        Assert.Equal(HttpStatusCode.Created, over.StatusCode);
        Assert.Equal("Larkfield test centre", (await over.JsonAsync()).GetProperty("pickUp").GetProperty("label").GetString());
    }

    [Fact]
    public async Task A_letter_to_somebody_without_an_address_is_not_lost_and_goes_once_there_is_one()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var instructor = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync("Corin Vale");
        await host.WithDbAsync(db => db.Set<Pupil>().ExecuteUpdateAsync(set => set.SetProperty(p => p.Email, "")));
        var booking = new { pupilId = pupil.Id, instructorId = instructor.Id, start = "2026-03-10T10:00:00Z", minutes = 60 };
        Assert.Equal(HttpStatusCode.Created, (await office.PostAsJsonAsync("/api/v1/lessons", booking)).StatusCode);
        await using var mail = new SmtpListener();
        await Post.RunAsync(host, Post.To(mail));
        var letter = await host.WithDbAsync(db => db.Set<Message>().AsNoTracking().SingleAsync(m => m.ReceiverId == pupil.Id && m.State == MessageState.Failed));
        Assert.Equal((SendDueMessages.NoAddress, "Corin Vale"), (letter.LastProblem, letter.ToName));
        var told = await WaitingAsync(office, "no_address");
        Assert.StartsWith("1 letter to Corin Vale cannot be sent: no e-mail address.", told.GetProperty("sentence").GetString(), StringComparison.Ordinal);
        Assert.Equal($"/pupils/{pupil.Id}/change#Input_Email", told.GetProperty("page").GetString());
        Assert.DoesNotContain("failed_message", await (await office.GetAsync("/api/v1/attention")).TextAsync(), StringComparison.Ordinal);

        await host.WithDbAsync(db => db.Set<Pupil>().ExecuteUpdateAsync(set => set.SetProperty(p => p.Email, "corin@larkfield.example")));
        Assert.Equal(HttpStatusCode.OK, (await office.PostAsync($"/api/v1/messages/{letter.Id}/send-again", null)).StatusCode);
        await Post.RunAsync(host, Post.To(mail));
        Assert.Equal((MessageState.Sent, "corin@larkfield.example"), await host.WithDbAsync(async db => (await db.Set<Message>().Where(m => m.Id == letter.Id).Select(m => new { m.State, m.ToAddress }).SingleAsync()) is var m ? (m.State, m.ToAddress) : default));
        Assert.DoesNotContain("no_address", await (await office.GetAsync("/api/v1/attention")).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_name_and_a_mail_address_make_an_instructor_who_teaches_nobody_before_the_rest_is_known()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var pupil = await host.Data.PupilAsync();
        var made = await office.PostAsJsonAsync(Instructors, new { name = "Sorrel Finch", email = "sorrel@larkfield.example" });
        Assert.Equal(HttpStatusCode.Created, made.StatusCode);
        var (url, told) = (made.Headers.Location!.ToString(), await made.JsonAsync());
        var id = told.GetProperty("id").GetGuid();
        Assert.Equal(["teaches", "registration", "registrationNumber", "registeredTo", "base"], Texts(told.GetProperty("stillNeeded")));
        Assert.Equal((JsonValueKind.Null, JsonValueKind.Null), (told.GetProperty("registration").ValueKind, told.GetProperty("base").ValueKind));
        Assert.Contains("Sorrel Finch, who teaches", (await WaitingAsync(office, "details_missing")).GetProperty("sentence").GetString(), StringComparison.Ordinal);

        var booking = new { pupilId = pupil.Id, instructorId = id, start = "2026-03-10T10:00:00Z", minutes = 60 };
        var refused = await office.PostAsJsonAsync("/api/v1/lessons", booking);
        Assert.Equal((HttpStatusCode.UnprocessableEntity, "wrong_gearbox"), (refused.StatusCode, await refused.CodeAsync()));
        Assert.Equal(HttpStatusCode.OK, (await office.SendAsync(
            HttpMethod.Put, url, new { name = "Sorrel Finch", email = "sorrel@larkfield.example", teaches = new[] { "manual" } }, ("If-Match", "*"))).StatusCode);
        refused = await office.PostAsJsonAsync("/api/v1/lessons", booking);
        Assert.Equal((HttpStatusCode.UnprocessableEntity, "instructor_not_registered"), (refused.StatusCode, await refused.CodeAsync()));
        var registered = new
        {
            name = "Sorrel Finch",
            email = "sorrel@larkfield.example",
            teaches = new[] { "manual" },
            registration = "approved",
            registrationNumber = "123456",
            registeredTo = "2029-12-31",
            @base = new { label = "Mill Lane", latitude = 52.4, longitude = -1.2 },
        };
        Assert.Empty((await (await office.SendAsync(HttpMethod.Put, url, registered, ("If-Match", "*"))).JsonAsync()).GetProperty("stillNeeded").EnumerateArray());
        refused = await office.PostAsJsonAsync("/api/v1/lessons", booking);
        Assert.Equal("outside_working_hours", await refused.CodeAsync());
    }

    /// <summary>Every page and list that there is, opened about them and by them.</summary>
    [Theory]
    [InlineData(nameof(Hat.Office))]
    [InlineData(nameof(Hat.Instructor))]
    [InlineData(nameof(Hat.Pupil))]
    public async Task Every_page_and_list_opens_with_half_known_people_in_the_school(string role)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await LarkfieldMonday.SeedAsync(host, others: 2);
        using var adding = await host.ApiAsAsync(await host.Data.OfficeAsync());
        await adding.PostAsJsonAsync(Pupils, ByPhone);
        await adding.PostAsJsonAsync(Pupils, new { name = "Linnet Brook", email = "linnet@larkfield.example" });
        await adding.PostAsJsonAsync(Instructors, new { name = "Sorrel Finch", email = "sorrel@larkfield.example" });
        await adding.PostAsJsonAsync(Instructors, new { name = "Alder Reeve", phone = "01632 960777" });
        var (pupils, teachers) = await host.WithDbAsync(async db => (
            await db.Set<Pupil>().Where(p => p.BirthDate == null).ToListAsync(),
            await db.Set<Modules.People.Instructor>().Where(i => i.RegisteredTo == null).ToListAsync()));
        var person = role switch
        {
            nameof(Hat.Pupil) => await host.Data.PersonAsync(pupils.Single(p => p.Email.Length > 0)),
            nameof(Hat.Instructor) => await host.Data.PersonAsync(teachers.Single(i => i.Email.Length > 0)),
            _ => await host.Data.OfficeAsync(),
        };
        if (person.InstructorId is { } teaches)
        {
            // Of others an instructor sees the name alone.
            await host.WithDbAsync(db => db.Set<Pupil>().ExecuteUpdateAsync(set => set.SetProperty(p => p.UsualInstructorId, teaches)));
        }

        using var pages = await host.PagesAsAsync(person);
        using var api = await host.ApiAsAsync(person);
        var ids = pupils.Select(p => p.Id).Concat(teachers.Select(i => i.Id)).ToList();
        var routes = (await SweptRoute.AllAsync(host.Services))
            .Where(route => route.Method == "GET" && !route.Streams && route.Allows(Enum.Parse<Hat>(role)) && route.Permission is not null && !route.Template.Contains("hangfire", StringComparison.Ordinal)).ToList();
        var (wrong, opened) = (new List<string>(), new HashSet<string>());
        foreach (var route in routes)
        {
            foreach (var id in route.HasId ? ids : ids.Take(1))
            {
                var queries = route.HasId ? [""] : new[] { "" }.Concat(ids.Select(one => $"?pupil={one}&pupilId={one}&instructorId={one}&instructor={one}&with={one}&minutes=60&from=2026-03-02&to=2026-03-08&date=2026-03-02"));
                foreach (var query in queries)
                {
                    var at = route.Url(id) + query;
                    using var answer = await (route.IsPage ? pages : api).GetAsync(at);
                    var text = await answer.TextAsync();
                    if ((int)answer.StatusCode >= 500)
                    {
                        wrong.Add($"{at}: {(int)answer.StatusCode}");
                    }

                    if (answer.StatusCode == HttpStatusCode.OK)
                    {
                        opened.Add(route.Template);
                        wrong.AddRange(LeadsNowhere().Matches(text).Select(match => $"{at}: {match.Value}"));
                    }
                }
            }
        }

        Assert.True(wrong.Count == 0, string.Join('\n', wrong.Distinct().Take(40)));
        var about = role switch
        {
            nameof(Hat.Office) => new[] { "/pupils/{id:guid}", "/people/instructors/{id:guid}", "/api/v1/pupils", "/diary/board", "/diary/book", "/api/v1/pupils/{id:guid}/eligibility", "/diary/attention", "/syllabus/overview" },
            nameof(Hat.Instructor) => ["/pupils/{id:guid}", "/diary/book", "/api/v1/instructors/{id:guid}", "/diary/day"],
            _ => ["/pupils/me", "/diary/home", "/diary/book", "/api/v1/pupils/{id:guid}"],
        };
        Assert.Equal([], about.Except(opened));
    }

    private static async Task<JsonElement> WaitingAsync(HttpClient office, string kind) =>
        (await (await office.GetAsync("/api/v1/attention")).JsonAsync()).GetProperty("items").EnumerateArray().Single(item => item.GetProperty("kind").GetString() == kind);

    private static string[] Texts(JsonElement list) => [.. list.EnumerateArray().Select(item => item.GetString()!)];

    /// <summary>A link with no number, address or position behind it, the point where nobody lives, or the first of all days.</summary>
    [GeneratedRegex("\"(?:tel:|mailto:)\"|geo:0,|0\\.00, 0\\.00|-9998|way to \\.")]
    private static partial Regex LeadsNowhere();
}
