using System.Net;
using System.Net.Http.Json;
using System.Text.Json;
using System.Text.Json.Nodes;
using School.Tests;
using School.Web.Tests.Host;

namespace School.Web.Tests.Platform;

/// <summary>How the API reads requests, whatever they are about.</summary>
public sealed class ApiFormTests(TestPostgres postgres)
{
    [Theory]
    [InlineData("/api/v1/pupils?limit=abc", "limit")]
    [InlineData("/api/v1/pupils?retired=banana", "retired")]
    [InlineData("/api/v1/lessons?from=yesterday", "from")]
    [InlineData("/api/v1/lessons?from=2026-12-01&to=2026-11-01", "to")]
    [InlineData("/api/v1/slots?to=2026-11-01", "pupilId")]
    [InlineData("/api/v1/slots?pupilId=0199d9f0-0000-7000-8000-000000000000&from=&to=2026-11-01", "from")]
    [InlineData("/api/v1/slots?pupilId=&from=2026-11-01&to=", "pupilId")]
    [InlineData("/api/v1/slots?pupilId=&from=2026-11-01&to=", "to")]
    [InlineData("/api/v1/lessons/price?pupilId=0199d9f0-0000-7000-8000-000000000000&instructorId=0199d9f0-0000-7000-8000-000000000000&start=&minutes=60", "start")]
    public async Task What_cannot_be_read_in_the_address_is_named_without_the_frameworks_words(string address, string field)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        using var answer = await office.GetAsync(address);
        Assert.Equal(HttpStatusCode.BadRequest, answer.StatusCode);
        var text = await answer.Content.ReadAsStringAsync();
        Assert.Contains(field, JsonDocument.Parse(text).RootElement.GetProperty("errors").EnumerateObject().Select(e => e.Name));
        Assert.DoesNotContain("Nullable", text, StringComparison.Ordinal);
        Assert.DoesNotContain("bind", text, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("{}", "pupilId")]
    [InlineData("{\"pupilId\":\"0199d9f0-0000-7000-8000-000000000000\",\"instructorId\":\"0199d9f0-0000-7000-8000-000000000000\",\"start\":\"2026-03-05T10:00:00Z\",\"minutes\":\"60\"}", "minutes")]
    [InlineData("", "body")]
    [InlineData("null", "body")]
    public async Task What_is_missing_or_of_the_wrong_kind_in_a_body_is_named(string body, string field)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        using var content = new StringContent(body, System.Text.Encoding.UTF8, "application/json");
        using var answer = await office.PostAsync("/api/v1/lessons", content);
        Assert.Equal(HttpStatusCode.BadRequest, answer.StatusCode);
        Assert.Contains(field, await answer.WrongFieldsAsync());
    }

    [Fact]
    public async Task Everything_that_cannot_be_read_is_told_in_one_round_with_the_form_that_each_value_wants()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        using var content = new StringContent(
            """{"pupilId":"nobody","start":"soon","minutes":"60","note":"x","pickUp":{"latitude":"far"}}""", System.Text.Encoding.UTF8, "application/json");
        using var answer = await office.PostAsync("/api/v1/lessons", content);
        Assert.Equal(HttpStatusCode.BadRequest, answer.StatusCode);
        var errors = (await answer.Content.ReadFromJsonAsync<JsonObject>())!["errors"]!.AsObject().ToDictionary(e => e.Key, e => e.Value![0]!.GetValue<string>());
        Assert.StartsWith("Give an id as it was told", errors["pupilId"], StringComparison.Ordinal);
        Assert.StartsWith("Give the moment with its offset", errors["start"], StringComparison.Ordinal);
        Assert.Equal("Give a whole number.", errors["minutes"]);
        Assert.StartsWith("There is no such member here.", errors["note"], StringComparison.Ordinal);
        Assert.Equal("Give a number.", errors["pickUp.latitude"]);
        Assert.Equal("This is missing.", errors["instructorId"]);
    }

    [Fact]
    public async Task A_character_that_no_text_can_hold_is_refused_and_not_our_fault()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        using var listed = await office.GetAsync("/api/v1/holidays?nation=%00");
        Assert.Equal((HttpStatusCode.BadRequest, "invalid"), (listed.StatusCode, await listed.CodeAsync()));
        using var nobody = host.Anonymous();
        using var token = await nobody.PostAsJsonAsync("/api/v1/tokens", new { email = "office\0@larkfield.example", password = "x\0" });
        Assert.Equal((HttpStatusCode.Unauthorized, "wrong_sign_in"), (token.StatusCode, await token.CodeAsync()));
    }

    [Fact]
    public async Task What_is_wrong_with_several_members_is_said_once()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        using var content = new StringContent("""{"note":"x","remark":"y","pupil":"z"}""", System.Text.Encoding.UTF8, "application/json");
        using var answer = await office.PostAsync("/api/v1/lessons", content);
        var problem = (await answer.Content.ReadFromJsonAsync<JsonObject>())!;
        Assert.Contains("remark", problem["errors"]!.AsObject().Select(e => e.Key));
        Assert.Equal(1, System.Text.RegularExpressions.Regex.Count(problem["detail"]!.GetValue<string>(), "There is no such member here"));
    }

    [Theory]
    [InlineData("{\"minutes\":60,\n\"start\": 20", "line 2")]
    [InlineData("[]", "Send a JSON object")]
    public async Task A_body_that_is_not_whole_says_where_it_breaks_off(string body, string words)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        using var content = new StringContent(body, System.Text.Encoding.UTF8, "application/json");
        using var answer = await office.PostAsync("/api/v1/lessons", content);
        Assert.Equal(HttpStatusCode.BadRequest, answer.StatusCode);
        Assert.Contains(words, (await answer.Content.ReadFromJsonAsync<JsonObject>())!["errors"]!["body"]![0]!.GetValue<string>(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task What_was_read_can_be_sent_back_changed_and_a_stale_version_may_try_again_with_its_key()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var pupil = await host.Data.PupilAsync();
        var car = await host.Data.CarAsync();
        var instructor = await host.Data.InstructorAsync();
        foreach (var address in new[] { $"/api/v1/pupils/{pupil.Id}", $"/api/v1/cars/{car.Id}", $"/api/v1/instructors/{instructor.Id}" })
        {
            using var read = await office.GetAsync(address);
            var body = (await read.Content.ReadFromJsonAsync<JsonObject>())!;
            body[address.Contains("cars", StringComparison.Ordinal) ? "label" : "name"] = "Changed";
            var key = Guid.NewGuid().ToString();
            using var stale = await office.SendAsync(HttpMethod.Put, address, body, ("If-Match", "\"99\""), ("Idempotency-Key", key));
            Assert.Equal(HttpStatusCode.PreconditionFailed, stale.StatusCode);
            using var weak = await office.SendAsync(HttpMethod.Put, address, body, ("If-Match", $"W/{read.Headers.ETag}"));
            Assert.Equal(HttpStatusCode.PreconditionFailed, weak.StatusCode);
            using var sent = await office.SendAsync(HttpMethod.Put, address, body, ("If-Match", read.Headers.ETag!.ToString()), ("Idempotency-Key", key));
            Assert.True(sent.StatusCode == HttpStatusCode.OK, $"{address}: {await sent.Content.ReadAsStringAsync()}");
        }
    }
}
