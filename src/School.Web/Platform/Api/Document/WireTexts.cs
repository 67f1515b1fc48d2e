using System.Text.Json.Nodes;
using Microsoft.OpenApi;
using NodaTime;

namespace School.Web.Platform.Api.Document;

/// <summary>How single values look on the wire.</summary>
internal static class WireTexts
{
    private static readonly Dictionary<Type, Func<OpenApiSchema>> Scalars = new()
    {
        [typeof(string)] = () => new() { Type = JsonSchemaType.String },
        [typeof(bool)] = () => new() { Type = JsonSchemaType.Boolean },
        [typeof(int)] = () => Whole("int32"),
        [typeof(long)] = () => Whole("int64"),
        [typeof(double)] = () => new() { Type = JsonSchemaType.Number, Format = "double" },
        [typeof(decimal)] = () => new() { Type = JsonSchemaType.Number, Format = "double" },
        [typeof(Guid)] = () => Text("uuid", "0195f3c2-7c1e-7a43-9d5e-5c1f1e0b2a44"),
        [typeof(Instant)] = () => Text("date-time", "2026-11-25T09:30:00Z"),
        [typeof(LocalDate)] = () => Text("date", "2026-11-25"),
        [typeof(QueryDate)] = () => Text("date", "2026-11-25"),
    };

    public static OpenApiSchema? Find(Type type) => Scalars.GetValueOrDefault(type)?.Invoke();

    private static OpenApiSchema Whole(string format) => new() { Type = JsonSchemaType.Integer, Format = format };

    private static OpenApiSchema Text(string format, string example) => new() { Type = JsonSchemaType.String, Format = format, Examples = [JsonValue.Create(example)] };
}
