using System.Text.Json;
using System.Text.Json.Nodes;
using Json.Schema;

namespace School.Web.Tests.Contract;

/// <summary>One operation of the document.</summary>
internal sealed record Operation(string Method, string Path, JsonObject Node)
{
    public string Name => $"{Method.ToUpperInvariant()} {Path}";

    public bool IsRead => Method == "get";

    /// <summary>Whether its answer goes on for as long as its reader stays.</summary>
    public bool Streams => Node["responses"]?["200"]?["content"]?["text/event-stream"] is not null;

    /// <summary>How much of an answer is waited for: of one that does not end, what comes before it.</summary>
    public HttpCompletionOption Until => Streams ? HttpCompletionOption.ResponseHeadersRead : HttpCompletionOption.ResponseContentRead;

    public IEnumerable<JsonObject> Parameters(string where) =>
        (Node["parameters"] as JsonArray ?? []).OfType<JsonObject>().Where(parameter => (string?)parameter["in"] == where);

    public JsonNode? Body => Node["requestBody"]?["content"]?["application/json"]?["schema"];

    public override string ToString() => Name;
}

/// <summary>The OpenAPI document as a program reads it; OpenAPI 3.1 schemas are JSON Schema 2020-12, so a validator of that judges what goes over the wire.</summary>
internal sealed class ContractDocument(JsonObject document)
{
    private const string Components = "#/components/schemas/";
    private static readonly string[] Methods = ["get", "post", "put", "delete", "patch"];
    private static readonly EvaluationOptions Strict = new() { OutputFormat = OutputFormat.List, RequireFormatValidation = true };
    private readonly Dictionary<string, JsonSchema> _built = [];
    private readonly JsonObject _closed = Closed(document["components"]!["schemas"]!.AsObject());

    public JsonObject Root { get; } = document;

    public JsonObject Schemas { get; } = document["components"]!["schemas"]!.AsObject();

    public IReadOnlyList<Operation> Operations { get; } =
    [
        .. from path in document["paths"]!.AsObject()
           from operation in path.Value!.AsObject()
           where Methods.Contains(operation.Key)
           select new Operation(operation.Key, path.Key, operation.Value!.AsObject()),
    ];

    public static async Task<ContractDocument> ReadAsync(HttpClient client) => new(JsonNode.Parse(await client.GetStringAsync("/openapi/v1.json"))!.AsObject());

    /// <summary>The schema that a reference names, or the schema itself.</summary>
    public JsonObject Resolve(JsonNode schema) =>
        (string?)schema["$ref"] is { } reference ? Schemas[reference[Components.Length..]]!.AsObject() : schema.AsObject();

    /// <summary>What is wrong with a value; members that the schema does not name count as wrong, but for those of problem details.</summary>
    public IReadOnlyList<string> Faults(JsonNode schema, JsonElement value)
    {
        var result = Build(schema).Evaluate(value, Strict);
        return result.IsValid ? [] :
        [
            .. (result.Details ?? []).Where(detail => detail.Errors is { Count: > 0 }).Take(5)
                .Select(detail => $"{detail.InstanceLocation}: {string.Join("; ", detail.Errors!.Values)}"),
        ];
    }

    private JsonSchema Build(JsonNode schema)
    {
        var text = schema.ToJsonString();
        if (!_built.TryGetValue(text, out var built))
        {
            var whole = Close(schema.DeepClone()).AsObject();
            whole["$schema"] = "https://json-schema.org/draft/2020-12/schema";
            whole["$defs"] = _closed.DeepClone();
            var alone = new BuildOptions { SchemaRegistry = new SchemaRegistry() };
            _built[text] = built = JsonSchema.FromText(whole.ToJsonString().Replace(Components, "#/$defs/", StringComparison.Ordinal), alone);
        }

        return built;
    }

    private static JsonObject Closed(JsonObject schemas) => new(schemas.Select(schema =>
        KeyValuePair.Create(schema.Key, schema.Key == "Problem" ? schema.Value!.DeepClone() : (JsonNode?)Close(schema.Value!.DeepClone()))));

    private static JsonNode Close(JsonNode schema)
    {
        if (schema is JsonObject of && of["properties"] is JsonObject && !of.ContainsKey("additionalProperties"))
        {
            of["additionalProperties"] = false;
        }

        return schema;
    }
}
