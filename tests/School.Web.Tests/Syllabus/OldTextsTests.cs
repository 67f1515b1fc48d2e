using System.Net;
using System.Text.Json;
using System.Text.Json.Nodes;
using School.Tests;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;
using static System.Net.Http.HttpMethod;

namespace School.Web.Tests.Syllabus;

public sealed class OldTextsTests(TestPostgres postgres)
{
    private const string Url = "/api/v1/syllabus/old-texts";
    private const string Page = "/syllabus/old-texts";

    [Fact]
    public async Task Sources_of_more_than_a_year_ago_are_listed_with_their_texts_the_oldest_first()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        await SaveAsync(office, "1", Point("Two.", "Handbook, page 2", "2025-03-01"), Point("One.", "Handbook, page 1", "2025-02-28"), Point("Also one.", "Handbook, page 1", "2025-02-28"),
            Point("New.", "Handbook, page 3", "2025-03-02"), Point("Said.", "Handbook, page 4 (from memory)", "2026-03-01"), new JsonObject { ["text"] = "Custom." });

        // The tests' day is 2 March 2026: what is dated 2 March 2025 is a year old and not more.
        var items = await ItemsAsync(office);
        Assert.Equal(
            [("Handbook, page 1", "2025-02-28", false, "One.|Also one."), ("Handbook, page 2", "2025-03-01", false, "Two."), ("Handbook, page 4 (from memory)", "2026-03-01", true, "Said.")],
            items.Select(item => (
                item.GetProperty("source").GetString(), item.GetProperty("sourceDate").GetString(), item.GetProperty("fromMemory").GetBoolean(),
                string.Join('|', item.GetProperty("texts").EnumerateArray().Select(text => text.GetProperty("text").GetString())))));
        var text = items[0].GetProperty("texts")[0];
        Assert.Equal(("signals", "Signals", "explain"), (text.GetProperty("skill").GetString(), text.GetProperty("name").GetString(), text.GetProperty("part").GetString()));

        var first = await (await office.GetAsync($"{Url}?limit=1")).JsonAsync();
        var next = await (await office.GetAsync($"{Url}?limit=2&cursor={first.GetProperty("next").GetString()}")).JsonAsync();
        Assert.Equal(["Handbook, page 2", "Handbook, page 4 (from memory)"], next.GetProperty("items").EnumerateArray().Select(item => item.GetProperty("source").GetString()));
        Assert.Equal(JsonValueKind.Null, next.GetProperty("next").ValueKind);
        Assert.Equal(HttpStatusCode.BadRequest, (await office.GetAsync($"{Url}?limit=0")).StatusCode);
        Assert.Equal(HttpStatusCode.BadRequest, (await office.GetAsync($"{Url}?cursor=nonsense")).StatusCode);
    }

    [Fact]
    public async Task A_source_that_was_read_is_dated_today_as_a_new_edition_and_leaves_the_list()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        await SaveAsync(office, "1", Point("One.", "Handbook, page 1", "2025-02-28"), Point("Said.", "Handbook, page 4 (from memory)", "2026-03-01"));
        var saved = await office.SendJsonAsync(Post, $"{Url}/read", new { sources = new[] { new { source = "Handbook, page 4 (from memory)", sourceDate = "2026-03-01" } } }, etag: "\"2\"");
        Assert.Equal((HttpStatusCode.OK, "\"3\""), (saved.StatusCode, saved.Headers.ETag!.ToString()));
        Assert.Equal(["Handbook, page 1"], (await ItemsAsync(office)).Select(item => item.GetProperty("source").GetString()));
        var points = await PointsAsync(office);
        Assert.Equal(("Handbook, page 4", "2026-03-02"), (points[1].GetProperty("source").GetString(), points[1].GetProperty("sourceDate").GetString()));
        Assert.Equal(("Handbook, page 1", "2025-02-28"), (points[0].GetProperty("source").GetString(), points[0].GetProperty("sourceDate").GetString()));
    }

    [Fact]
    public async Task What_cannot_be_marked_as_read_is_told_and_nothing_is_saved()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        await SaveAsync(office, "1", Point("One.", "Handbook, page 1", "2025-02-28"));
        object known = new { source = "Handbook, page 1", sourceDate = "2025-02-28" };
        var unknown = await office.SendJsonAsync(Post, $"{Url}/read", new { sources = new[] { known, new { source = "Handbook, page 9", sourceDate = "2025-02-28" } } }, etag: "\"2\"");
        Assert.Equal((422, "source_unknown"), ((int)unknown.StatusCode, await unknown.CodeAsync()));
        var empty = await office.SendJsonAsync(Post, $"{Url}/read", new { sources = new object?[] { null, new { source = " " }, new { source = new string('x', 201), sourceDate = "2025-02-28" } } }, etag: "\"2\"");
        Assert.Equal(HttpStatusCode.BadRequest, empty.StatusCode);
        Assert.Equal(
            ["sources[0].source", "sources[0].sourceDate", "sources[1].source", "sources[1].sourceDate", "sources[2].source"],
            (await empty.JsonAsync()).GetProperty("errors").EnumerateObject().Select(error => error.Name).Order(StringComparer.Ordinal));
        Assert.Equal(HttpStatusCode.BadRequest, (await office.SendJsonAsync(Post, $"{Url}/read", new { sources = Array.Empty<object>() }, etag: "\"2\"")).StatusCode);
        Assert.Equal(412, (int)(await office.SendJsonAsync(Post, $"{Url}/read", new { sources = new[] { known } }, etag: "\"1\"")).StatusCode);
        Assert.Equal(428, (int)(await office.SendJsonAsync(Post, $"{Url}/read", new { sources = new[] { known } }, etag: null)).StatusCode);
        Assert.Equal("\"2\"", (await office.GetAsync("/api/v1/syllabus")).Headers.ETag!.ToString());
    }

    [Fact]
    public async Task The_office_ticks_on_the_page_what_still_says_the_same()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var api = await host.ApiAsAsync(await host.Data.OfficeAsync());
        await SaveAsync(api, "1", Point("One & only.", "Handbook, page 1", "2025-02-28"), Point("Two.", "Handbook, page 2", "2025-02-28"));
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var page = await (await office.GetAsync(Page)).TextAsync();
        Assert.Contains("Handbook, page 1 (28 February 2025)", page, StringComparison.Ordinal);
        Assert.Contains("<a href=\"/syllabus/skills/signals\">", page, StringComparison.Ordinal);
        Assert.Contains($"href=\"{Page}\"", await (await office.GetAsync("/syllabus")).TextAsync(), StringComparison.Ordinal);
        Assert.Contains($"href=\"{Page}\"", await (await office.GetAsync("/syllabus/settings")).TextAsync(), StringComparison.Ordinal);

        Assert.Contains("Tick the sources that you have read.", await (await office.PostFormAsync(Page, ("Edition", "2"))).TextAsync(), StringComparison.Ordinal);
        Assert.Contains("Somebody changed the syllabus", await (await office.PostFormAsync(Page, ("Edition", "1"), ("Read", "2025-02-28 Handbook, page 1"))).TextAsync(), StringComparison.Ordinal);
        var done = await office.PostFormAsync(Page, ("Edition", "2"), ("Read", "2025-02-28 Handbook, page 1"), ("Read", "2025-02-28 Handbook, page 2"));
        Assert.Equal(HttpStatusCode.Redirect, done.StatusCode);
        page = await (await office.GetAsync(Page)).TextAsync();
        Assert.Contains("Saved as edition 3: 2 sources are dated today.", page, StringComparison.Ordinal);
        Assert.Contains("Nothing to look at", page, StringComparison.Ordinal);
    }

    [Fact]
    public async Task It_is_for_the_office_alone()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var person = await host.Data.PersonAsync(await host.Data.InstructorAsync());
        using var api = await host.ApiAsAsync(person);
        Assert.Equal(HttpStatusCode.Forbidden, (await api.GetAsync(Url)).StatusCode);
        using var pages = await host.PagesAsAsync(person);
        Assert.DoesNotContain($"href=\"{Page}\"", await (await pages.GetAsync("/syllabus")).TextAsync(), StringComparison.Ordinal);
    }

    private static JsonObject Point(string text, string source, string date) => new() { ["text"] = text, ["source"] = source, ["sourceDate"] = date };

    /// <summary>A syllabus of one skill with these points to explain.</summary>
    private static async Task SaveAsync(HttpClient office, string edition, params JsonObject[] points)
    {
        var skill = new JsonObject { ["key"] = "signals", ["name"] = "Signals", ["explain"] = new JsonArray([.. points]) };
        var groups = new JsonArray(new JsonObject { ["name"] = "Observation", ["skills"] = new JsonArray(skill) });
        (await office.SendJsonAsync(Put, "/api/v1/syllabus", new JsonObject { ["groups"] = groups }, etag: $"\"{edition}\"")).EnsureSuccessStatusCode();
    }

    private static async Task<List<JsonElement>> ItemsAsync(HttpClient office) => [.. (await (await office.GetAsync(Url)).JsonAsync()).GetProperty("items").EnumerateArray()];

    private static async Task<List<JsonElement>> PointsAsync(HttpClient office) =>
        [.. (await (await office.GetAsync("/api/v1/syllabus")).JsonAsync()).GetProperty("groups")[0].GetProperty("skills")[0].GetProperty("explain").EnumerateArray()];
}
