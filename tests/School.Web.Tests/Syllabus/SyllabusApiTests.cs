using System.Net;
using System.Text.Json;
using System.Text.Json.Nodes;
using School.Tests;
using School.Web.Tests.Host;

namespace School.Web.Tests.Syllabus;

public sealed class SyllabusApiTests(TestPostgres postgres)
{
    private const string Url = "/api/v1/syllabus";

    [Fact]
    public async Task The_shipped_syllabus_is_the_drivers_record_in_its_order()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var instructor = await host.ApiAsAsync(await host.Data.PersonAsync(await host.Data.InstructorAsync()));
        var answer = await instructor.GetAsync(Url);
        Assert.Equal("\"1\"", answer.Headers.ETag!.ToString());
        var groups = (await answer.JsonAsync()).GetProperty("groups").EnumerateArray().ToList();
        // 8 groups with 4, 3, 6, 3, 4, 3, 3 and 1 skills: DVSA driver's record, gov.uk "Record your pupils' progress learning to drive", updated 7 February 2023.
        Assert.Equal([4, 3, 6, 3, 4, 3, 3, 1], groups.Select(g => g.GetProperty("skills").GetArrayLength()));
        Assert.Equal("Legal responsibilities", groups[0].GetProperty("skills")[0].GetProperty("name").GetString());
        Assert.Equal(HttpStatusCode.NotFound, (await instructor.GetAsync($"{Url}?edition=2")).StatusCode);
        Assert.Equal(HttpStatusCode.BadRequest, (await instructor.GetAsync($"{Url}?edition=last")).StatusCode);
    }

    [Fact]
    public async Task The_office_makes_a_new_edition_and_the_old_one_stays_to_be_read()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var syllabus = await ReadAsync(office);
        Skill(syllabus, "signals")["name"] = "Signals and their timing";
        var saved = await PutAsync(office, syllabus, "1");
        Assert.Equal(HttpStatusCode.OK, saved.StatusCode);
        Assert.Equal("\"2\"", saved.Headers.ETag!.ToString());

        Assert.Equal("Signals", Skill(await ReadAsync(office, "?edition=1"), "signals")["name"]!.GetValue<string>());
        Assert.Equal("Signals and their timing", Skill(await ReadAsync(office), "signals")["name"]!.GetValue<string>());
        var editions = (await (await office.GetAsync($"{Url}/editions")).JsonAsync()).GetProperty("items").EnumerateArray().ToList();
        Assert.Equal([2, 1], editions.Select(e => e.GetProperty("edition").GetInt32()));
        Assert.Equal(("Rosalind Pike", "Renamed “Signals” to “Signals and their timing”."), (editions[0].GetProperty("madeBy").GetString(), editions[0].GetProperty("words").GetString()));
        var first = await (await office.GetAsync($"{Url}/editions?limit=1")).JsonAsync();
        var next = await (await office.GetAsync($"{Url}/editions?limit=1&cursor={first.GetProperty("next").GetString()}")).JsonAsync();
        Assert.Equal((1, true), (next.GetProperty("items")[0].GetProperty("edition").GetInt32(), next.GetProperty("next").ValueKind == JsonValueKind.Null));
        Assert.Equal(HttpStatusCode.BadRequest, (await office.GetAsync($"{Url}/editions?cursor=nonsense")).StatusCode);
    }

    [Fact]
    public async Task An_edition_that_is_no_longer_the_newest_is_not_built_on_and_no_change_makes_none()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var syllabus = await ReadAsync(office);
        Assert.Equal("\"1\"", (await PutAsync(office, syllabus, "1")).Headers.ETag!.ToString());
        Assert.Equal(428, (int)(await office.PutAsync(Url, new StringContent(syllabus.ToJsonString(), null, "application/json"))).StatusCode);

        Skill(syllabus, "signals")["aim"] = "The pupil signals when it helps somebody.";
        var answers = await Task.WhenAll(Enumerable.Range(0, 4).Select(n =>
        {
            var mine = JsonNode.Parse(syllabus.ToJsonString())!;
            Skill(mine, "signals")["aim"] = $"Aim {n}.";
            return PutAsync(office, mine, "1");
        }));
        Assert.Single(answers, a => a.StatusCode == HttpStatusCode.OK);
        foreach (var refused in answers.Where(a => a.StatusCode != HttpStatusCode.OK))
        {
            Assert.Equal((HttpStatusCode.PreconditionFailed, "edition_changed"), (refused.StatusCode, await refused.CodeAsync()));
        }
    }

    [Theory]
    [InlineData("needs", "[\"juggling\"]", 422)]
    [InlineData("needs", "[\"signals\"]", 422)] // on itself
    [InlineData("needs", "[null]", 400)]
    [InlineData("name", "\"Mirrors – vision and use\"", 422)] // another skill's
    [InlineData("name", "\" \"", 400)]
    [InlineData("key", "\"Signals!\"", 400)]
    [InlineData("key", "\"mirrors\"", 422)] // another skill's
    [InlineData("aim", "\"{LONG}\"", 400)]
    [InlineData("explain", "[{\"text\":\"\"}]", 400)]
    [InlineData("explain", "[{\"text\":\"A gap.\",\"source\":\"The Highway Code\"}]", 400)] // a source without its date
    [InlineData("explain", "[{\"text\":\"A gap.\",\"sourceDate\":\"2024-06-20\"}]", 400)]
    [InlineData("explain", "[null]", 400)]
    [InlineData("rules", "[{\"text\":\"A gap.\",\"source\":\"\",\"date\":\"2024-06-20\"}]", 400)]
    [InlineData("rules", "[{\"text\":\"A gap.\",\"source\":\"HC\",\"date\":\"20 June\"}]", 400)]
    [InlineData("ask", "[{\"question\":\"Why?\",\"answer\":\"\"}]", 400)]
    [InlineData("colour", "\"red\"", 400)]
    public async Task A_syllabus_that_does_not_hold_together_is_refused_and_nothing_is_saved(string member, string json, int status)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var syllabus = await ReadAsync(office);
        if (member == "name" && status == 422)
        {
            json = $"\"{Skill(syllabus, "mirrors")["name"]!.GetValue<string>()}\"";
        }

        Skill(syllabus, "signals")[member] = JsonNode.Parse(json.Replace("{LONG}", new string('x', 801), StringComparison.Ordinal));
        var refused = await PutAsync(office, syllabus, "1");
        Assert.Equal(status, (int)refused.StatusCode);
        Assert.Equal("\"1\"", (await office.GetAsync(Url)).Headers.ETag!.ToString());
    }

    [Fact]
    public async Task A_skill_that_others_build_on_cannot_be_left_out_and_an_empty_syllabus_is_none()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var syllabus = await ReadAsync(office);
        Skill(syllabus, "signals")["needs"] = new JsonArray("security");
        Assert.Equal(HttpStatusCode.OK, (await PutAsync(office, syllabus, "1")).StatusCode);
        Skill(syllabus, "security").Parent!.AsArray().Remove(Skill(syllabus, "security"));
        var refused = await PutAsync(office, syllabus, "2");
        Assert.Equal("syllabus_problem", await refused.CodeAsync());
        Assert.Contains("“Signals” builds on “security”", (await refused.JsonAsync()).GetProperty("detail").GetString(), StringComparison.Ordinal);
        Assert.Equal("syllabus_problem", await (await PutAsync(office, new JsonObject { ["groups"] = new JsonArray() }, "2")).CodeAsync());
        Assert.Equal(HttpStatusCode.BadRequest, (await PutAsync(office, new JsonObject(), "2")).StatusCode);
        Assert.Equal(HttpStatusCode.BadRequest, (await PutAsync(office, new JsonObject { ["groups"] = new JsonArray((JsonNode?)null) }, "2")).StatusCode);
    }

    [Fact]
    public async Task More_groups_than_a_syllabus_holds_are_refused_and_none_is_passed_over()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var groups = Enumerable.Range(1, 101).Select(n => (JsonNode)new JsonObject
        {
            ["name"] = $"Group {n}",
            ["skills"] = new JsonArray(new JsonObject { ["key"] = $"skill-{n}", ["name"] = $"Skill {n}" }),
        });
        Assert.Equal(HttpStatusCode.BadRequest, (await PutAsync(office, new JsonObject { ["groups"] = new JsonArray([.. groups]) }, "1")).StatusCode);
        Assert.Equal("\"1\"", (await office.GetAsync(Url)).Headers.ETag!.ToString());
    }

    [Fact]
    public async Task Instructors_read_the_syllabus_and_only_the_office_changes_it()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var instructor = await host.ApiAsAsync(await host.Data.PersonAsync(await host.Data.InstructorAsync()));
        using var pupil = await host.ApiAsAsync(await host.Data.PersonAsync(await host.Data.PupilAsync()));
        Assert.Equal(HttpStatusCode.Forbidden, (await PutAsync(instructor, await ReadAsync(instructor), "1")).StatusCode);
        Assert.Equal(HttpStatusCode.Forbidden, (await pupil.GetAsync(Url)).StatusCode);
    }

    private static async Task<JsonNode> ReadAsync(HttpClient api, string ask = "") => JsonNode.Parse(await api.GetStringAsync(Url + ask))!;

    private static JsonNode Skill(JsonNode syllabus, string key) =>
        syllabus["groups"]!.AsArray().SelectMany(g => g!["skills"]!.AsArray()).Single(s => s!["key"]!.GetValue<string>() == key)!;

    private static Task<HttpResponseMessage> PutAsync(HttpClient api, JsonNode syllabus, string edition) =>
        api.SendAsync(HttpMethod.Put, Url, syllabus, ("If-Match", $"\"{edition}\""));
}
