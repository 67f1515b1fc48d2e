using System.Net;
using System.Net.Http.Json;
using System.Text.Json.Nodes;
using Microsoft.EntityFrameworkCore;
using School.Tests;
using School.Web.Modules.Messages;
using School.Web.Modules.Records;
using School.Web.Tests.Host;
using School.Web.Tests.Messages;
using School.Web.Tests.Pupils;

namespace School.Web.Tests.Records;

/// <summary>What staff change leaves a sentence, written with the change: a change that is refused leaves none.</summary>
public sealed class AuditedChangesTests(TestPostgres postgres)
{
    [Fact]
    public async Task Changes_of_cars()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var instructor = await host.Data.InstructorAsync();
        var car = new Dictionary<string, object?> { ["label"] = "red hatch", ["plate"] = "LK24 RED", ["gearbox"] = "manual", ["firstRegistered"] = "2024-03-01" };
        var made = await office.PostAsJsonAsync("/api/v1/cars", car);
        var url = made.Headers.Location!.ToString();
        await office.PostAsJsonAsync("/api/v1/cars", new Dictionary<string, object?>(car) { ["plate"] = "" });
        await office.PostAsJsonAsync("/api/v1/cars", car);
        (car["label"], car["motExpires"]) = ("red hatch, new tyres", "2028-02-29");
        await office.SendAsync(HttpMethod.Put, url, car, ("If-Match", "*"));
        await office.SendAsync(HttpMethod.Put, url, car, ("If-Match", "*"));
        await office.SendAsync(HttpMethod.Put, url, car, ("If-Match", "\"1\""));
        var off = await office.PostAsJsonAsync($"{url}/off-road", new { start = "2026-03-04T09:00:00Z", reason = "clutch" });
        await office.SendAsync(HttpMethod.Put, off.Headers.Location!.ToString(), new { start = "2026-03-04T09:00:00Z", reason = "clutch and brakes" }, ("If-Match", "*"));
        await office.DeleteAsync(off.Headers.Location);
        var held = await office.PostAsJsonAsync($"{url}/holdings", new { instructorId = instructor.Id, from = "2026-03-03" });
        await office.DeleteAsync($"{held.Headers.Location}?lastDay=2026-03-09");
        await office.PostAsync($"{url}/retire", null);
        await office.PostAsync($"{url}/retire", null);
        await office.PostAsync($"{url}/take-back", null);
        await ExpectAsync(
            host, "car.",
            "Added the red hatch (LK24 RED).",
            "Changed the red hatch: label red hatch → red hatch, new tyres, MOT expires none → 29 February 2028.",
            "Took the red hatch, new tyres off the road: clutch.",
            "Changed a time off the road of the red hatch, new tyres: reason clutch → clutch and brakes.",
            "Put back on the road what was off it: clutch and brakes.",
            "Gave the red hatch, new tyres to Marigold Ashby from 3 March 2026 on.",
            "Ended a holding of the red hatch, new tyres after Monday 9 March 2026.",
            "Retired the red hatch, new tyres.",
            "Took the red hatch, new tyres back.");
    }

    [Fact]
    public async Task Changes_of_booking_rules_holidays_and_driving_times()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        await PutAsync(office, "/api/v1/diary/settings", rules => (rules["noticeToBookHours"], rules["firstLegIsWork"], rules["lessonMinutes"]) = (48, true, new JsonArray(60, 90)));
        await PutAsync(office, "/api/v1/diary/settings", rules => rules["noticeToBookHours"] = -1);
        await PutAsync(office, "/api/v1/diary/settings", _ => { });
        var fair = await office.PostAsJsonAsync("/api/v1/holidays", new { nation = "england-and-wales", date = "2026-06-12", name = "Larkfield Fair" });
        await office.PostAsJsonAsync("/api/v1/holidays", new { nation = "england-and-wales", date = "2026-06-12", name = "Larkfield Fair" });
        await office.DeleteAsync(fair.Headers.Location);
        await PutAsync(office, "/api/v1/travel/settings", settings => (settings["detourFactor"], settings["weekdayMph"]!.AsArray()[0]) = (1.5, 33));
        await ExpectAsync(
            host, "rules.", "Changed the booking rules: first leg is work no → yes, lesson 60, 90, 120 → 60, 90 minutes, notice to book 24 → 48 hours.");
        await ExpectAsync(
            host, "holiday.", "Added a bank holiday: Larkfield Fair, Friday 12 June 2026, england and wales.", "Removed a bank holiday: Larkfield Fair, Friday 12 June 2026, england and wales.");
        await PutAsync(office, "/api/v1/waiting-settings", waiting => (waiting["heldMinutes"], waiting["order"]) = (90, "fewestLessons"));
        await PutAsync(office, "/api/v1/waiting-settings", waiting => waiting["heldMinutes"] = 1);
        await ExpectAsync(host, "waiting.", "Changed how freed times are offered: held 60 → 90 minutes, order longest waiting → fewest lessons.");
        await PutAsync(office, "/api/v1/test-days/settings", days => days["leadMinutes"] = 75);
        await ExpectAsync(host, "test_days.", "Changed the numbers for test days: lead 60 → 75 minutes.");
        var travel = Assert.Single(await WordsAsync(host, "travel."));
        Assert.Matches("^Changed how driving times are estimated: detour factor [0-9.]+ → 1.5, weekday mph.$", travel);
    }

    [Fact]
    public async Task Changes_of_hours_and_time_off_by_the_instructor()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var row = await host.Data.InstructorAsync();
        using var instructor = await host.ApiAsAsync(await host.Data.PersonAsync(row));
        var url = $"/api/v1/instructors/{row.Id}";
        var hours = await (await instructor.PostAsJsonAsync($"{url}/working-hours", new { day = "monday", start = "18:30", end = "21:00", from = "2026-04-01" })).JsonAsync();
        var one = $"{url}/working-hours/{hours.GetProperty("id").GetGuid()}";
        await instructor.PostAsJsonAsync($"{url}/working-hours", new { day = "monday", start = "19:00", end = "20:00", from = "2026-04-01" });
        await instructor.SendAsync(HttpMethod.Put, one, new { day = "monday", start = "18:30", end = "20:00", from = "2026-04-01" }, ("If-Match", "*"));
        await instructor.DeleteAsync(one);
        var off = await (await instructor.PostAsJsonAsync($"{url}/time-off", new { start = "2026-03-05T09:00:00Z", end = "2026-03-05T12:00:00Z", reason = "dentist" })).JsonAsync();
        await instructor.PostAsJsonAsync($"{url}/time-off", new { start = "2026-03-05T10:00:00Z", end = "2026-03-05T13:00:00Z", reason = "again" });
        await instructor.DeleteAsync($"{url}/time-off/{off.GetProperty("id").GetGuid()}");
        await ExpectAsync(
            host, "instructor.",
            "Added working hours of Marigold Ashby: Monday 18:30–21:00.",
            "Changed working hours of Marigold Ashby: end 21:00 → 20:00.",
            "Removed working hours of Marigold Ashby: Monday 18:30–20:00.",
            "Added time off of Marigold Ashby, Thursday 5 March 2026.",
            "Removed time off of Marigold Ashby, Thursday 5 March 2026.");
    }

    [Fact]
    public async Task Changes_of_pupils_name_fields_and_never_values()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var made = await office.PostAsJsonAsync("/api/v1/pupils", Tamsin.Fields);
        var url = made.Headers.Location!.ToString();
        await office.PostAsJsonAsync("/api/v1/pupils", Tamsin.With("name", ""));
        await PutAsync(office, url, pupil => (pupil["phone"], pupil["weeklyMinutes"]) = ("07700 900456", 120), "earliestLesson");
        await office.SendAsync(HttpMethod.Put, $"{url}/teaching", new { need = "bay parking", notes = "" }, ("If-Match", "*"));
        await office.PostAsync($"{url}/retire", null);
        await office.PostAsync($"{url}/take-back", null);
        await ExpectAsync(
            host, "pupil.", "Added the pupil.", "Changed the pupil: phone, weekly minutes.", "Changed what instructors note: need.", "Let the pupil leave.", "Took the pupil back.");
        using var pages = await host.PagesAsAsync(await host.Data.OfficeAsync("Basil Thornby"));
        var page = await (await pages.GetAsync("/records/audit")).TextAsync();
        Assert.Contains($"href=\"/pupils/{url.Split('/')[^1]}\"", page, StringComparison.Ordinal);
        Assert.Contains("Changed the pupil: phone, weekly minutes.", page, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Changes_of_instructors_calendars_tokens_and_messages()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var person = await host.Data.OfficeAsync();
        using var office = await host.ApiAsAsync(person);
        var instructor = await host.Data.InstructorAsync();
        var url = $"/api/v1/instructors/{instructor.Id}";
        await PutAsync(office, url, row => row["phone"] = "07700 900456");
        await office.SendAsync(HttpMethod.Post, $"{url}/retire", new { on = "2026-03-01" }, ("If-Match", "*"));
        await office.SendAsync(HttpMethod.Post, $"{url}/retire", new { on = (string?)null }, ("If-Match", "*"));
        await ExpectAsync(
            host, "instructor.", "Changed Marigold Ashby: phone.", "Marigold Ashby teaches no more from Sunday 1 March 2026.", "Took Marigold Ashby back.");

        var feed = await (await office.PostAsJsonAsync("/api/v1/feeds", new { instructorId = instructor.Id, detail = "area" })).JsonAsync();
        await office.PostAsJsonAsync("/api/v1/feeds", new { instructorId = Guid.NewGuid(), detail = "area" });
        await office.DeleteAsync($"/api/v1/feeds/{feed.GetProperty("id").GetGuid()}");
        await ExpectAsync(host, "feed.", "Made a calendar address of an instructor, detail: area.", "Revoked a calendar address.");

        var issued = await office.PostAsJsonAsync("/api/v1/tokens", new { email = person.Email, password = SchoolHost.Password });
        await office.PostAsJsonAsync("/api/v1/tokens", new { email = person.Email, password = "wrong" });
        await office.DeleteAsync(issued.Headers.Location);
        await office.DeleteAsync(issued.Headers.Location);
        await ExpectAsync(host, "token.", "Made an API token.", "Made an API token.", "Ended an API token.");

        var message = Post.Reminder(host);
        message.State = MessageState.Failed;
        await host.AddAsync(message);
        await office.PostAsync($"/api/v1/messages/{message.Id}/send-again", null);
        await office.PostAsync($"/api/v1/messages/{message.Id}/send-again", null);
        await ExpectAsync(host, "message.", "Put a failed message back to be sent: “Your driving lesson tomorrow at 10:00”.");
    }

    /// <summary>Reads, changes and puts back what was read.</summary>
    private static async Task PutAsync(HttpClient api, string url, Action<JsonObject> change, params string[] without)
    {
        var read = await api.GetAsync(url);
        Assert.Equal(HttpStatusCode.OK, read.StatusCode);
        var body = JsonNode.Parse(await read.Content.ReadAsStringAsync())!.AsObject();
        change(body);
        Array.ForEach(without, name => body.Remove(name));
        await api.SendAsync(HttpMethod.Put, url, body, ("If-Match", read.Headers.ETag!.Tag));
    }

    private static async Task ExpectAsync(SchoolHost host, string kind, params string[] words) => Assert.Equal(words, await WordsAsync(host, kind));

    private static Task<List<string>> WordsAsync(SchoolHost host, string kind) => host.WithDbAsync(
        db => db.Set<AuditEntry>().Where(a => EF.Functions.Like(a.What, kind + "%")).OrderBy(a => a.Id).Select(a => a.Words).ToListAsync());
}
