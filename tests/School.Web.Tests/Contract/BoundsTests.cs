using System.Net;
using System.Text.Json.Nodes;
using School.Tests;
using School.Web.Tests.Host;

namespace School.Web.Tests.Contract;

/// <summary>The document bounds everything that is sent in a body, so that a client can tell before it asks. An address is bounded as a whole.</summary>
public sealed class BoundsTests(TestPostgres postgres)
{
    /// <summary>What has a form of its own, and with it an end.</summary>
    private static readonly string[] Forms = ["uuid", "date", "date-time"];

    /// <summary>What has no bounds of its own, and why.</summary>
    private static readonly Dictionary<string, string> Unbounded = new(StringComparer.Ordinal)
    {
        ["SyllabusChange.edition: maximum"] = "only read, and passed over when it comes back",
        ["SyllabusChange.edition: minimum"] = "only read, and passed over when it comes back",
        ["TravelStatusJsonWritten.mapAttribution: maxLength"] = "only read, and passed over when it comes back",
        ["TravelStatusJsonWritten.reason: maxLength"] = "only read, and passed over when it comes back",
    };

    [Fact]
    public async Task Every_number_text_and_list_of_a_body_has_its_bounds()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var document = await ContractDocument.ReadAsync(host.Anonymous());
        var found = new SortedSet<string>(StringComparer.Ordinal);
        foreach (var operation in document.Operations.Where(operation => operation.Body is not null))
        {
            Look(document, operation.Body!, operation.Name, found, []);
        }

        found.SymmetricExceptWith(Unbounded.Keys);
        Assert.True(found.Count == 0, string.Join('\n', found));
    }

    /// <summary>Some generators send null for what was not set (docs/api-conventions.md).</summary>
    [Fact]
    public async Task Null_where_none_is_allowed_is_refused_by_name()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var api = await host.ApiAsAsync(await host.Data.OfficeAsync());
        using var refused = await api.SendAsync(HttpMethod.Post, $"/api/v1/lessons/{Guid.NewGuid()}/missed", new { waive = (bool?)null });
        Assert.Equal(HttpStatusCode.BadRequest, refused.StatusCode);
        Assert.NotEmpty((await refused.JsonAsync()).GetProperty("errors").GetProperty("waive").EnumerateArray());
    }

    [Fact]
    public async Task A_bound_is_told_where_it_is_checked()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var document = await ContractDocument.ReadAsync(host.Anonymous());
        var grid = document.Schemas["RulesInputWritten"]!["properties"]!["gridMinutes"]!;
        Assert.Equal((5, 120), ((int)grid["minimum"]!, (int)grid["maximum"]!));
        var speeds = document.Schemas["TravelSettingsViewWritten"]!["properties"]!["weekdayMph"]!;
        Assert.Equal((24, 24, 1, 70), ((int)speeds["minItems"]!, (int)speeds["maxItems"]!, (int)speeds["items"]!["minimum"]!, (int)speeds["items"]!["maximum"]!));
        var held = document.Schemas["WaitingRulesWritten"]!["properties"]!["heldMinutes"]!;
        Assert.Equal((5, 1440), ((int)held["minimum"]!, (int)held["maximum"]!));
    }

    private static void Look(ContractDocument document, JsonNode schema, string name, SortedSet<string> found, HashSet<string> seen)
    {
        if ((string?)schema["$ref"] is { } reference)
        {
            name = reference.Split('/')[^1];
            if (!seen.Add(name))
            {
                return;
            }
        }

        var of = document.Resolve(schema);
        foreach (var one in (of["oneOf"] as JsonArray ?? []).Concat(of["allOf"] as JsonArray ?? []))
        {
            Look(document, one!, name, found, seen);
        }

        foreach (var (member, its) in (of["properties"] as JsonObject ?? []).Where(p => (bool?)p.Value!["readOnly"] != true))
        {
            Look(document, its!, $"{name}.{member}", found, seen);
        }

        var types = of["type"] switch
        {
            JsonArray several => several.Select(type => (string)type!).ToArray(),
            JsonValue alone => [(string)alone!],
            _ => [],
        };
        var misses =
            types.Contains("array") ? Missing(of, "maxItems")
            : types.Contains("integer") || types.Contains("number") ? Missing(of, "minimum", "maximum")
            : types.Contains("string") && of["enum"] is null && of["pattern"] is null && !Forms.Contains((string?)of["format"]) ? Missing(of, "maxLength")
            : types.Contains("object") && of["additionalProperties"] is JsonObject ? Missing(of, "maxProperties")
            : [];
        foreach (var bound in misses)
        {
            found.Add($"{name}: {bound}");
        }

        if (of["items"] is { } items)
        {
            Look(document, items, $"{name}[]", found, seen);
        }
    }

    private static IEnumerable<string> Missing(JsonObject of, params string[] bounds) => bounds.Where(bound => of[bound] is null);
}
