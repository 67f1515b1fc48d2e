using System.Net;
using System.Text.Json;
using System.Text.Json.Nodes;
using CsCheck;
using School.Tests;
using School.Web.Tests.Host;

namespace School.Web.Tests.Contract;

/// <summary>The OpenAPI document says what goes over the wire.</summary>
public sealed class ContractTests(TestPostgres postgres)
{
    private const int QuickTimes = 8;

    [Fact]
    public Task Every_answer_to_valid_and_invalid_questions_is_in_the_document() =>
        Gen.UInt.SampleAsync(seed => FuzzedSchool.FuzzAsync(postgres, seed, QuickTimes), iter: 1, threads: 1);

    [Fact]
    public async Task Every_schema_says_its_type_and_only_what_may_be_null_takes_null_once()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var document = await ContractDocument.ReadAsync(host.Anonymous());
        var wrong = new List<string>();
        Walk(document.Root, "", (schema, path) =>
        {
            if (schema["enum"] is JsonArray && schema["type"]?.ToJsonString() is not ("\"string\"" or "[\"null\",\"string\"]"))
            {
                wrong.Add($"{path}: an enum without type string");
            }

            if (schema["oneOf"] is JsonArray oneOf && oneOf.Count(one => document.Faults(one!, JsonSerializer.SerializeToElement<object?>(null)).Count == 0) > 1)
            {
                wrong.Add($"{path}: null is taken twice");
            }

            if (schema["type"]?.ToJsonString().Contains("\"array\"", StringComparison.Ordinal) == true && schema["items"] is null)
            {
                wrong.Add($"{path}: a list without items");
            }

            if (path.StartsWith("/components/schemas/", StringComparison.Ordinal) && path.Split('/').Length == 4 && !schema.ContainsKey("type"))
            {
                wrong.Add($"{path}: no type");
            }
        });
        Assert.Empty(wrong);
    }

    [Fact]
    public async Task Every_operation_tells_its_answers_with_content_and_headers()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var document = await ContractDocument.ReadAsync(host.Anonymous());
        Assert.Equal(["https://localhost"], document.Root["servers"]!.AsArray().Select(server => (string)server!["url"]!));
        foreach (var operation in document.Operations)
        {
            var responses = operation.Node["responses"]!.AsObject();
            foreach (var (status, response) in responses)
            {
                Assert.True(status is "204" or "304" || response!["content"]?.AsObject().Count > 0, $"{operation} {status} has no content");
                Assert.True(status[0] is not ('4' or '5') || response!["content"]!["application/problem+json"] is not null, $"{operation} {status} is no problem");
            }

            Assert.True(responses.ContainsKey("414") && responses.ContainsKey("503"), operation.Name);
            Assert.True(operation.Path != "/api/v1/tokens" || operation.IsRead || operation.Node["security"]!.AsArray().Count == 0, "Signing in wants no token.");
            Assert.True(!responses.ContainsKey("401") || responses["401"]!["headers"]!["WWW-Authenticate"] is not null, operation.Name);
            Assert.True(!responses.ContainsKey("201") || responses["201"]!["headers"]!["Location"] is not null, operation.Name);
            Assert.True(!operation.IsRead || operation.Streams || responses["200"]!["headers"]!["ETag"] is not null, operation.Name);
        }

        Assert.Equal(["GET /api/v1/events"], document.Operations.Where(o => o.Streams).Select(o => o.Name));
        var progress = document.Operations.Single(o => o.Name == "GET /api/v1/pupils/{id}/progress").Node["responses"]!["200"]!["content"]!.AsObject();
        Assert.Equal(["application/json", "text/csv"], progress.Select(content => content.Key).Order());
    }

    [Fact]
    public async Task Every_list_takes_limit_and_cursor()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var document = await ContractDocument.ReadAsync(host.Anonymous());
        var lists = document.Operations.Where(o => o.IsRead && o.Node["responses"]!["200"]!["content"]?["application/json"]?["schema"] is { } schema
            && document.Resolve(schema)["properties"] is JsonObject { } members && members.ContainsKey("items") && members.ContainsKey("next")).ToList();
        Assert.True(lists.Count > 20);
        Assert.All(lists, list => Assert.Equal(["cursor", "limit"], list.Parameters("query").Select(p => (string)p["name"]!).Where(name => name is "limit" or "cursor").Order()));
        Assert.All(lists, list => Assert.Equal(200, (int)list.Parameters("query").Single(p => (string)p["name"]! == "limit")["schema"]!["maximum"]!));
    }

    [Fact]
    public async Task What_was_made_can_be_read_where_Location_says()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var document = await ContractDocument.ReadAsync(host.Anonymous());
        var read = document.Operations.Where(o => o.IsRead).Select(o => o.Path).ToHashSet();
        var makes = document.Operations.Where(o => o.Node["responses"]!.AsObject().ContainsKey("201")).ToList();
        Assert.NotEmpty(makes);
        foreach (var make in makes)
        {
            Assert.True(read.Any(path => path.StartsWith($"{make.Path}/{{", StringComparison.Ordinal) || Elsewhere(make.Path).Contains(path))
                // What is put where it will stand is read there.
                || (make.Method == "put" && read.Contains(make.Path)), $"{make} makes what cannot be read");
        }

        // A mock test and a hand-over are made for a pupil and read by themselves.
        static string[] Elsewhere(string path) => path.EndsWith("/mock-tests", StringComparison.Ordinal) ? ["/api/v1/mock-tests/{id}"]
            : path.EndsWith("/hand-over", StringComparison.Ordinal) ? ["/api/v1/hand-overs/{id}"] : [];
    }

    private static void Walk(JsonNode? node, string path, Action<JsonObject, string> visit)
    {
        switch (node)
        {
            case JsonObject of:
                visit(of, path);
                foreach (var (name, value) in of.Where(member => member.Key is not ("examples" or "enum" or "required")))
                {
                    Walk(value, $"{path}/{name}", visit);
                }

                break;
            case JsonArray list:
                foreach (var (item, at) in list.Select((item, at) => (item, at)))
                {
                    Walk(item, $"{path}/{at}", visit);
                }

                break;
        }
    }
}
