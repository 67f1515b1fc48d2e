using System.Net;
using System.Net.Http.Json;
using System.Text;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using School.Tests;
using School.Web.Modules.Pupils;
using School.Web.Tests.Host;

namespace School.Web.Tests.Pupils;

public sealed class PupilTests(TestPostgres postgres)
{
    [Fact]
    public async Task The_office_adds_a_pupil_and_reads_them_back_normalised()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var made = await office.PostAsJsonAsync("/api/v1/pupils", Tamsin.With("pickUp", new { label = "Mill Lane", address = "12 Mill Lane, Larkfield", postcode = "lk12ab", position = "geo:52.4,-1.2" }));
        Assert.Equal(HttpStatusCode.Created, made.StatusCode);
        var pupil = await (await office.GetAsync(made.Headers.Location)).JsonAsync();
        Assert.Equal("+447700900123", pupil.GetProperty("phone").GetString());
        Assert.Equal(("LK1 2AB", 52.4), (pupil.GetProperty("pickUp").GetProperty("postcode").GetString(), pupil.GetProperty("pickUp").GetProperty("latitude").GetDouble()));
        Assert.Equal("2024-05-04", pupil.GetProperty("earliestLesson").GetString());
        Assert.Equal(60, pupil.GetProperty("lessonMinutes").GetInt32());
    }

    [Theory]
    [InlineData("Tamsin 🚗👩‍👩‍👧 Oakley", "Tamsin 🚗👩‍👩‍👧 Oakley")]
    [InlineData("ليلى حدّاد", "ليلى حدّاد")]
    [InlineData("אורי לוי", "אורי לוי")]
    [InlineData("Tamsin\u202E \u2066Oakley\u2069\u0000", "Tamsin Oakley")]
    public async Task Names_of_every_script_and_emoji_are_kept_and_what_turns_the_text_around_is_not(string typed, string kept)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var made = await office.PostAsJsonAsync("/api/v1/pupils", Tamsin.With("name", typed));
        Assert.Equal(HttpStatusCode.Created, made.StatusCode);
        Assert.Equal(kept, (await (await office.GetAsync(made.Headers.Location)).JsonAsync()).GetProperty("name").GetString());
    }

    [Theory]
    [InlineData("name", "\u200B \u202E", "name")]
    [InlineData("email", "tamsin@larkfield.example\r\nBcc: x@larkfield.example", "email")]
    [InlineData("phone", "call me", "phone")]
    [InlineData("birthDate", "2012-03-03", "birthDate")]
    [InlineData("birthDate", "1899-01-01", "birthDate")]
    [InlineData("provisionalFrom", "2022-01-01", "provisionalFrom")]
    [InlineData("lessonMinutes", 5, "lessonMinutes")]
    [InlineData("weeklyMinutes", 99999, "weeklyMinutes")]
    [InlineData("usualInstructorId", "0198f000-0000-7000-8000-000000000000", "usualInstructorId")]
    [InlineData("emergencyPhone", "01632 960003", "emergencyName")]
    [InlineData("driverNumber", "OAKLE705047T99AA1", "driverNumber")]
    public async Task What_is_wrong_with_a_pupil_is_said_beside_the_field_and_nothing_is_kept(string field, object? value, string wrong)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        Assert.Equal([wrong], await (await office.PostAsJsonAsync("/api/v1/pupils", Tamsin.With(field, value))).WrongFieldsAsync());
        Assert.Equal(0, await host.WithDbAsync(db => db.Set<Pupil>().CountAsync()));
    }

    [Fact]
    public async Task All_that_is_wrong_is_said_at_once()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var empty = await office.PostAsJsonAsync("/api/v1/pupils", new { pickUp = new { postcode = "nonsense" } });
        Assert.Equal(
            ["email", "name", "pickUp.label", "pickUp.position", "pickUp.postcode"],
            await empty.WrongFieldsAsync());
    }

    [Fact]
    public async Task Somebody_too_young_for_lessons_may_be_entered_and_is_told_when_they_may_start()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var made = await office.PostAsJsonAsync("/api/v1/pupils", Tamsin.With("birthDate", "2010-02-28").With("provisionalFrom", null));
        Assert.Equal("2027-02-28", (await made.JsonAsync()).GetProperty("earliestLesson").GetString());
        var eligibility = await (await office.GetAsync($"{made.Headers.Location}/eligibility?on=2027-02-27")).JsonAsync();
        Assert.False(eligibility.GetProperty("mayDrive").GetBoolean());
        Assert.Equal(
            ["pupil_too_young", "no_provisional_licence", "eyesight_unchecked"],
            eligibility.GetProperty("items").EnumerateArray().Select(i => i.GetProperty("code").GetString()!));
        Assert.All(eligibility.GetProperty("items").EnumerateArray(), i => Assert.NotEqual("", i.GetProperty("source").GetString()));
    }

    [Fact]
    public async Task A_pupil_reads_what_they_need_next_and_not_the_notes_of_staff()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        await host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Id == pupil.Id)
            .ExecuteUpdateAsync(row => row.SetProperty(p => p.Need, "Hill starts").SetProperty(p => p.Notes, "Calm under pressure.")));
        using var own = await host.ApiAsAsync(await host.Data.PersonAsync(pupil));
        var read = await (await own.GetAsync($"/api/v1/pupils/{pupil.Id}")).JsonAsync();
        Assert.Equal("Hill starts", read.GetProperty("need").GetString());
        Assert.Equal(System.Text.Json.JsonValueKind.Null, read.GetProperty("notes").ValueKind);
        using var pages = await host.PagesAsAsync(await host.Data.PersonAsync(await host.Data.PupilAsync("Corin Vale")));
        Assert.DoesNotContain("Hill starts", await (await pages.GetAsync("/diary/home")).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_same_key_sent_twenty_times_at_once_makes_one_pupil()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var key = ("Idempotency-Key", Guid.NewGuid().ToString());
        var answers = await Task.WhenAll(Enumerable.Range(0, 20).Select(_ => office.SendAsync(HttpMethod.Post, "/api/v1/pupils", Tamsin.Fields, key)));
        Assert.All(answers, a => Assert.Equal(HttpStatusCode.Created, a.StatusCode));
        Assert.Single(answers.Select(a => a.Headers.Location).Distinct());
        Assert.Equal(1, await host.WithDbAsync(db => db.Set<Pupil>().CountAsync()));
        var other = await office.SendAsync(HttpMethod.Post, "/api/v1/pupils", Tamsin.With("name", "Somebody Else"), key);
        Assert.Equal((HttpStatusCode.UnprocessableEntity, "key_used_before"), (other.StatusCode, await other.CodeAsync()));
    }

    [Fact]
    public async Task A_page_of_a_million_is_refused_and_pages_hold_everybody_once()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        for (var n = 0; n < 5; n++)
        {
            await host.Data.PupilAsync($"Pupil {n}");
        }

        Assert.Equal(["limit"], await (await office.GetAsync("/api/v1/pupils?limit=1000000")).WrongFieldsAsync());
        Assert.Equal(["limit"], await (await office.GetAsync("/api/v1/pupils?limit=0")).WrongFieldsAsync());
        Assert.Equal(["cursor"], await (await office.GetAsync("/api/v1/pupils?cursor=nonsense!")).WrongFieldsAsync());
        var names = new List<string>();
        for (var cursor = ""; cursor is not null;)
        {
            var page = await (await office.GetAsync($"/api/v1/pupils?limit=2&cursor={cursor}")).JsonAsync();
            names.AddRange(page.GetProperty("items").EnumerateArray().Select(p => p.GetProperty("name").GetString()!));
            cursor = page.GetProperty("next").GetString();
        }

        // Ids made within one millisecond have no order of their own (RFC 9562, 6.2), so only each name once is certain.
        Assert.Equal(Enumerable.Range(0, 5).Select(n => $"Pupil {n}"), names.Order(StringComparer.Ordinal));
    }

    [Theory]
    [InlineData("oak tam", 1)]
    [InlineData("PUPIL", 2)]
    [InlineData("01632960002", 2)]
    [InlineData("100%", 0)]
    [InlineData("_", 0)]
    public async Task Search_finds_every_word_in_name_e_mail_and_phone(string typed, int found)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        await host.Data.PupilAsync("Tamsin Oakley");
        await host.Data.PupilAsync("Ferdie Marsh");
        var items = (await (await office.GetAsync($"/api/v1/pupils?q={Uri.EscapeDataString(typed)}")).JsonAsync()).GetProperty("items");
        Assert.Equal(found, items.GetArrayLength());
    }

    [Fact]
    public async Task A_body_of_ten_megabytes_is_refused_whether_it_says_its_length_or_not()
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        using var office = new HttpClient { BaseAddress = new(host.Url) };
        office.DefaultRequestHeaders.Authorization = new("Bearer", await host.TokenAsync(await host.Data.OfficeAsync()));
        var body = Tamsin.With("notes", new string('x', 10 << 20));
        using var sized = new StringContent(JsonSerializer.Serialize(body), Encoding.UTF8, "application/json");
        foreach (var content in new HttpContent[] { sized, JsonContent.Create(body) })
        {
            var refused = await office.PostAsync("/api/v1/pupils", content);
            Assert.Equal((HttpStatusCode.RequestEntityTooLarge, "too_large"), (refused.StatusCode, await refused.CodeAsync()));
        }

        Assert.Equal(0, await host.WithDbAsync(db => db.Set<Pupil>().CountAsync()));
    }

    [Fact]
    public async Task An_old_copy_is_stale_and_a_missing_copy_is_asked_for()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var made = await office.PostAsJsonAsync("/api/v1/pupils", Tamsin.Fields);
        var (url, first) = (made.Headers.Location!.ToString(), made.Headers.ETag!.ToString());
        var changed = await office.SendAsync(HttpMethod.Put, url, Tamsin.With("name", "Tamsin Ash"), ("If-Match", first));
        Assert.Equal(HttpStatusCode.OK, changed.StatusCode);
        Assert.Equal(HttpStatusCode.PreconditionFailed, (await office.SendAsync(HttpMethod.Put, url, Tamsin.With("name", "Tamsin Elm"), ("If-Match", first))).StatusCode);
        Assert.Equal((HttpStatusCode)428, (await office.PutAsJsonAsync(url, Tamsin.With("name", "Tamsin Elm"))).StatusCode);
        Assert.Equal("Tamsin Ash", (await (await office.GetAsync(url)).JsonAsync()).GetProperty("name").GetString());
        Assert.Equal(HttpStatusCode.NotFound, (await office.SendAsync(HttpMethod.Put, $"/api/v1/pupils/{Guid.NewGuid()}", Tamsin.With("name", "x"), ("If-Match", first))).StatusCode);
    }

    [Fact]
    public async Task A_pupil_reads_and_changes_their_own_contact_details_and_nobody_elses()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var own = await host.Data.PupilAsync();
        var other = await host.Data.PupilAsync("Ferdie Marsh");
        await host.WithDbAsync(db => db.Set<Pupil>().ExecuteUpdateAsync(p => p.SetProperty(x => x.Notes, "Brakes late.")));
        using var api = await host.ApiAsAsync(await host.Data.PersonAsync(own));
        var read = await api.GetAsync($"/api/v1/pupils/{own.Id}");
        Assert.Equal(JsonValueKind.Null, (await read.JsonAsync()).GetProperty("notes").ValueKind);
        var contact = new
        {
            email = "tamsin@larkfield.example",
            phone = "07700 900456",
            pickUp = new { label = "College", address = "College Road", latitude = 52.41, longitude = -1.21 },
            emergencyName = "Aunt Juniper",
            emergencyPhone = "01632 960009",
        };
        var changed = await api.SendAsync(HttpMethod.Put, $"/api/v1/pupils/{own.Id}/contact", contact, ("If-Match", read.Headers.ETag!.ToString()));
        Assert.Equal(HttpStatusCode.OK, changed.StatusCode);
        Assert.Equal("+441632960009", (await changed.JsonAsync()).GetProperty("emergencyPhone").GetString());

        foreach (var path in new[] { "", "/eligibility", "/guarded" })
        {
            Assert.Equal(HttpStatusCode.NotFound, (await api.GetAsync($"/api/v1/pupils/{other.Id}{path}")).StatusCode);
        }

        Assert.Equal(HttpStatusCode.NotFound, (await api.SendAsync(HttpMethod.Put, $"/api/v1/pupils/{other.Id}/contact", contact, ("If-Match", "*"))).StatusCode);
        Assert.Equal(HttpStatusCode.Forbidden, (await api.SendAsync(HttpMethod.Put, $"/api/v1/pupils/{own.Id}", Tamsin.Fields, ("If-Match", "*"))).StatusCode);
        var listed = await (await api.GetAsync("/api/v1/pupils")).JsonAsync();
        Assert.Equal([own.Id], listed.GetProperty("items").EnumerateArray().Select(p => p.GetProperty("id").GetGuid()));
    }

    [Fact]
    public async Task An_instructor_records_the_eyesight_check_and_notes_but_does_not_change_the_rest()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var teacher = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync(instructor: teacher.Id);
        var person = await host.Data.PersonAsync(teacher);
        using var api = await host.ApiAsAsync(person);
        Assert.Equal(["on"], await (await api.PostAsJsonAsync($"/api/v1/pupils/{pupil.Id}/eyesight-check", new { on = "2026-03-03" })).WrongFieldsAsync());
        var check = await (await api.PostAsJsonAsync($"/api/v1/pupils/{pupil.Id}/eyesight-check", new { on = "2026-03-02" })).JsonAsync();
        Assert.Equal(("2026-03-02", person.Id), (check.GetProperty("eyesightCheckedOn").GetString(), check.GetProperty("eyesightCheckedBy").GetGuid()));
        var notes = await api.SendAsync(HttpMethod.Put, $"/api/v1/pupils/{pupil.Id}/teaching", new { need = "Roundabouts", notes = "Calm.\nLikes maps." }, ("If-Match", "*"));
        Assert.Equal("Calm.\nLikes maps.", (await notes.JsonAsync()).GetProperty("notes").GetString());
        Assert.Equal(HttpStatusCode.Forbidden, (await api.SendAsync(HttpMethod.Put, $"/api/v1/pupils/{pupil.Id}", Tamsin.Fields, ("If-Match", "*"))).StatusCode);
        var items = (await (await api.GetAsync($"/api/v1/pupils/{pupil.Id}/eligibility")).JsonAsync()).GetProperty("items");
        Assert.Equal(0, items.GetArrayLength());
    }

    [Fact]
    public async Task Retiring_a_pupil_with_a_lesson_ahead_is_refused_and_afterwards_keeps_the_history()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var pupil = await host.Data.PupilAsync();
        await host.WithLessonsAheadAsync(1, pupil.Id);
        var refused = await office.PostAsync($"/api/v1/pupils/{pupil.Id}/retire", null);
        Assert.Equal((HttpStatusCode.UnprocessableEntity, "lessons_ahead"), (refused.StatusCode, await refused.CodeAsync()));
        Assert.Contains("1 lesson ahead", (await refused.JsonAsync()).GetProperty("detail").GetString(), StringComparison.Ordinal);

        host.Clock.AdvanceDays(3);
        Assert.Equal(HttpStatusCode.OK, (await office.PostAsync($"/api/v1/pupils/{pupil.Id}/retire", null)).StatusCode);
        Assert.Equal("2026-03-05", (await (await office.GetAsync($"/api/v1/pupils/{pupil.Id}")).JsonAsync()).GetProperty("retiredOn").GetString());
        Assert.Equal(1, await host.WithDbAsync(db => db.Set<Modules.Diary.Lessons.Lesson>().CountAsync(l => l.PupilId == pupil.Id)));
        Assert.Equal(0, (await (await office.GetAsync("/api/v1/pupils")).JsonAsync()).GetProperty("items").GetArrayLength());
    }

    [Fact]
    public async Task A_pupil_who_leaves_signs_in_no_more_until_they_are_taken_back_and_invited_anew()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var pupil = await host.Data.PupilAsync();
        using var own = await host.ApiAsAsync(await host.Data.PersonAsync(pupil));
        Assert.Equal(HttpStatusCode.OK, (await own.GetAsync($"/api/v1/pupils/{pupil.Id}")).StatusCode);
        Assert.Equal(HttpStatusCode.OK, (await office.PostAsync($"/api/v1/pupils/{pupil.Id}/retire", null)).StatusCode);
        Assert.Equal(HttpStatusCode.Unauthorized, (await own.GetAsync($"/api/v1/pupils/{pupil.Id}")).StatusCode);
        var back = await (await office.PostAsync($"/api/v1/pupils/{pupil.Id}/take-back", null)).JsonAsync();
        Assert.Equal(System.Text.Json.JsonValueKind.Null, back.GetProperty("retiredOn").ValueKind);
        Assert.Equal(HttpStatusCode.Unauthorized, (await own.GetAsync($"/api/v1/pupils/{pupil.Id}")).StatusCode);
    }
}

/// <summary>A pupil as the office types her in.</summary>
internal static class Tamsin
{
    public static Dictionary<string, object?> Fields => new()
    {
        ["name"] = "Tamsin Oakley",
        ["email"] = "tamsin@larkfield.example",
        ["phone"] = "07700 900123",
        ["birthDate"] = "2007-05-04",
        ["gearbox"] = "manual",
        ["provisionalFrom"] = "2024-05-04",
        ["pickUp"] = new { label = "Mill Lane", address = "12 Mill Lane, Larkfield", latitude = 52.4, longitude = -1.2 },
    };

    public static Dictionary<string, object?> With(string field, object? value) => Fields.With(field, value);

    public static Dictionary<string, object?> With(this Dictionary<string, object?> fields, string field, object? value) => new(fields) { [field] = value };
}
