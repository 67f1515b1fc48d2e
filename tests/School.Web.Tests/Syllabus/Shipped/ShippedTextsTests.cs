using System.Net;
using System.Text.Json;
using System.Text.Json.Nodes;
using Npgsql;
using School.Core.Syllabus;
using School.Tests;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;
using static System.Net.Http.HttpMethod;

namespace School.Web.Tests.Syllabus.Shipped;

/// <summary>A school that began with an earlier version takes over the texts of this one.</summary>
public sealed class ShippedTextsTests(TestPostgres postgres)
{
    private const string Url = "/api/v1/syllabus/shipped";
    private const string Page = "/syllabus/shipped";

    [Fact]
    public async Task A_new_school_has_all_texts_of_this_version()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        Assert.Empty(await ListAsync(office));
        using var pages = await host.PagesAsAsync(await host.Data.OfficeAsync());
        Assert.Contains("Nothing differs", await (await pages.GetAsync(Page)).TextAsync(), StringComparison.Ordinal);
        Assert.Contains($"href=\"{Page}\"", await (await pages.GetAsync("/syllabus/settings")).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task What_differs_is_listed_with_what_the_school_wrote_itself()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await BeganEarlierAsync(host);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        Assert.Equal(["mirrors False True aim", "signals False True aim, safety"], await ListAsync(office));
        await ChangeAsync(office, "1", "signals", skill => skill["aim"] = "Our own aim.");
        Assert.Equal(["mirrors False True aim", "signals True True aim, safety"], await ListAsync(office));
        await ChangeAsync(office, "2", "fuel-efficient-driving", skill => skill.Parent!.AsArray().Remove(skill));
        Assert.Equal(["mirrors False True aim", "signals True True aim, safety", "fuel-efficient-driving False False "], await ListAsync(office));

        var first = await (await office.GetAsync($"{Url}?limit=1")).JsonAsync();
        Assert.Equal("mirrors", first.GetProperty("items")[0].GetProperty("skill").GetProperty("key").GetString());
        var next = await (await office.GetAsync($"{Url}?limit=1&cursor={first.GetProperty("next").GetString()}")).JsonAsync();
        Assert.Equal("signals", next.GetProperty("items")[0].GetProperty("key").GetString());
    }

    [Fact]
    public async Task Taken_over_a_skill_has_the_new_texts_under_its_own_name_and_pupils_keep_their_levels()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await BeganEarlierAsync(host);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var instructor = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync(instructor: instructor.Id);
        await host.TaughtAsync(pupil, instructor, 3, "Signals come early.", 1, ("signals", SkillLevel.Prompted));
        await ChangeAsync(office, "1", "signals", skill => (skill["name"], skill["needs"]) = ("Signals and their timing", new JsonArray()));

        var taken = await office.SendJsonAsync(Post, $"{Url}/take", new { skills = new[] { "signals", "signals" } }, etag: "\"2\"");
        Assert.Equal((HttpStatusCode.OK, "\"3\""), (taken.StatusCode, taken.Headers.ETag!.ToString()));
        var now = Skill(await ReadAsync(office), "signals");
        Assert.Equal(("Signals and their timing", 0), (now["name"]!.GetValue<string>(), now["needs"]!.AsArray().Count));
        Assert.DoesNotContain("former", now.ToJsonString(), StringComparison.Ordinal);
        Assert.Contains("former", Skill(await ReadAsync(office), "mirrors").ToJsonString(), StringComparison.Ordinal);
        Assert.Contains("former", Skill(await ReadAsync(office, "?edition=2"), "signals").ToJsonString(), StringComparison.Ordinal);
        var progress = await (await office.GetAsync($"/api/v1/pupils/{pupil.Id}/progress")).JsonAsync();
        var level = progress.GetProperty("groups").EnumerateArray().SelectMany(group => group.GetProperty("skills").EnumerateArray())
            .Single(skill => skill.GetProperty("key").GetString() == "signals").GetProperty("level").GetString();
        Assert.Equal("prompted", level);
    }

    [Fact]
    public async Task A_skill_that_the_school_does_not_teach_comes_back_with_what_it_can_build_on()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var groups = new JsonArray(new JsonObject { ["name"] = "Mine", ["skills"] = new JsonArray(new JsonObject { ["key"] = "mirrors", ["name"] = "Mirrors" }) });
        (await office.SendJsonAsync(Put, "/api/v1/syllabus", new JsonObject { ["groups"] = groups }, etag: "\"1\"")).EnsureSuccessStatusCode();
        (await office.SendJsonAsync(Post, $"{Url}/take", new { skills = new[] { "junctions", "mirrors" } }, etag: "\"2\"")).EnsureSuccessStatusCode();
        var syllabus = await ReadAsync(office);
        Assert.Equal(["Mine", "Junctions, roundabouts and crossings"], syllabus["groups"]!.AsArray().Select(group => group!["name"]!.GetValue<string>()));
        Assert.Equal(["mirrors"], Skill(syllabus, "junctions")["needs"]!.AsArray().Select(need => need!.GetValue<string>()));
        Assert.NotEmpty(Skill(syllabus, "mirrors")["explain"]!.AsArray());
    }

    [Fact]
    public async Task What_cannot_be_taken_over_is_told_and_nothing_is_saved()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await BeganEarlierAsync(host);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var unknown = await office.SendJsonAsync(Post, $"{Url}/take", new { skills = new[] { "signals", "juggling" } }, etag: "\"1\"");
        Assert.Equal((422, "skill_not_shipped"), ((int)unknown.StatusCode, await unknown.CodeAsync()));
        Assert.Equal(400, (int)(await office.SendJsonAsync(Post, $"{Url}/take", new { skills = Array.Empty<string>() }, etag: "\"1\"")).StatusCode);
        Assert.Equal(400, (int)(await office.SendJsonAsync(Post, $"{Url}/take", new { skills = new string?[] { null } }, etag: "\"1\"")).StatusCode);
        Assert.Equal(412, (int)(await office.SendJsonAsync(Post, $"{Url}/take", new { skills = new[] { "signals" } }, etag: "\"2\"")).StatusCode);
        Assert.Equal(428, (int)(await office.SendJsonAsync(Post, $"{Url}/take", new { skills = new[] { "signals" } })).StatusCode);
        Assert.Equal("\"1\"", (await office.GetAsync("/api/v1/syllabus")).Headers.ETag!.ToString());
        using var instructor = await host.ApiAsAsync(await host.Data.PersonAsync(await host.Data.InstructorAsync()));
        Assert.Equal(HttpStatusCode.Forbidden, (await instructor.GetAsync(Url)).StatusCode);
    }

    [Fact]
    public async Task On_the_page_what_the_school_has_not_changed_is_ticked_beforehand()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await BeganEarlierAsync(host);
        using var api = await host.ApiAsAsync(await host.Data.OfficeAsync());
        await ChangeAsync(api, "1", "signals", skill => skill["aim"] = "Our own aim.");
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var page = await (await office.GetAsync(Page)).TextAsync();
        Assert.Contains("value=\"mirrors\" checked=\"checked\"", page, StringComparison.Ordinal);
        Assert.Matches("value=\"signals\">\\s*<label for=\"take-signals\"><b><bdi>Signals</bdi></b> <span class=\"tag\">changed by you</span>", page);
        Assert.Contains("Tick the skills", await (await office.PostFormAsync(Page, ("Edition", "2"))).TextAsync(), StringComparison.Ordinal);
        Assert.Contains("Somebody changed the syllabus", await (await office.PostFormAsync(Page, ("Edition", "1"), ("Take", "mirrors"))).TextAsync(), StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.Redirect, (await office.PostFormAsync(Page, ("Edition", "2"), ("Take", "mirrors"), ("Take", "signals"))).StatusCode);
        page = await (await office.GetAsync(Page)).TextAsync();
        Assert.Contains("Saved as edition 3.", page, StringComparison.Ordinal);
        Assert.Contains("Nothing differs", page, StringComparison.Ordinal);
    }

    /// <summary>The first edition as another version shipped it: other aims of mirrors and signals, and nothing on safety in the latter.</summary>
    private static async Task BeganEarlierAsync(SchoolHost host)
    {
        await using var owner = NpgsqlDataSource.Create(host.ConnectionString);
        await using (var read = owner.CreateCommand("SELECT content::text FROM syllabus.editions WHERE number = 1"))
        {
            var groups = JsonNode.Parse((string)(await read.ExecuteScalarAsync())!)!;
            var syllabus = new JsonObject { ["groups"] = groups.DeepClone() };
            Skill(syllabus, "mirrors")["aim"] = "A former aim.";
            Skill(syllabus, "signals")["aim"] = "A former aim.";
            Skill(syllabus, "signals")["safety"] = new JsonArray();
            await using var write = owner.CreateCommand(
                "ALTER TABLE syllabus.editions DISABLE TRIGGER editions_only_added; "
                + $"UPDATE syllabus.editions SET content = $json${syllabus["groups"]!.ToJsonString()}$json$::jsonb; "
                + "ALTER TABLE syllabus.editions ENABLE TRIGGER editions_only_added");
            await write.ExecuteNonQueryAsync();
        }
    }

    private static async Task<string[]> ListAsync(HttpClient office) =>
        [.. (await (await office.GetAsync(Url)).JsonAsync()).GetProperty("items").EnumerateArray().Select(item =>
            $"{item.GetProperty("key").GetString()} {item.GetProperty("changedHere").GetBoolean()} {item.GetProperty("inSyllabus").GetBoolean()} "
            + string.Join(", ", item.GetProperty("differs").EnumerateArray().Select(part => part.GetString())))];

    private static async Task<JsonNode> ReadAsync(HttpClient office, string query = "") => JsonNode.Parse(await office.GetStringAsync($"/api/v1/syllabus{query}"))!;

    private static async Task ChangeAsync(HttpClient office, string edition, string key, Action<JsonObject> change)
    {
        var syllabus = await ReadAsync(office);
        change(Skill(syllabus, key));
        (await office.SendJsonAsync(Put, "/api/v1/syllabus", syllabus, etag: $"\"{edition}\"")).EnsureSuccessStatusCode();
    }

    private static JsonObject Skill(JsonNode syllabus, string key) =>
        syllabus["groups"]!.AsArray().SelectMany(group => group!["skills"]!.AsArray()).Single(skill => skill!["key"]!.GetValue<string>() == key)!.AsObject();
}
