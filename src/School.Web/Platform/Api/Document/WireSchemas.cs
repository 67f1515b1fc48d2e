using System.Globalization;
using System.Reflection;
using System.Text.Json;
using System.Text.Json.Nodes;
using System.Text.Json.Serialization;
using System.Text.Json.Serialization.Metadata;
using Microsoft.OpenApi;
using NodaTime;
using School.Core;

namespace School.Web.Platform.Api.Document;

/// <summary>
/// The schemas of what goes over the wire, read from the serializer's own description of each type, so that the document says what the
/// serializer does. Answers name every member that is always there; requests name those that must be sent, and take no others.
/// </summary>
internal sealed class WireSchemas(OpenApiDocument document, JsonSerializerOptions json, Descriptions words)
{
    private readonly Dictionary<string, object> _made = [];

    public IOpenApiSchema Answer(Type type) => Of(type, Way.Out);

    public IOpenApiSchema Request(Type type) => Of(type, Way.In);

    /// <summary>What <paramref name="written"/> takes where a read gave <paramref name="read"/> before: the members that only the service sets may come back.</summary>
    public IOpenApiSchema Request(Type written, Type read) => ReadOnlyMembers.Any(json, written, read) ? Component($"{NameOf(written)}AsRead", (written, read), () =>
    {
        var schema = Shape(json.GetTypeInfo(written), Way.In, member => ReadOnlyMembers.Same(json, member, read) is { } same && ReadOnlyMembers.Any(json, member.PropertyType, same.PropertyType)
            ? Pair(member.PropertyType, same.PropertyType)
            : null);
        foreach (var member in ReadOnlyMembers.Of(json, written, read))
        {
            schema.Properties![member.Name] = ReadOnly(Member(member, Way.Out));
        }

        return schema;
    })
    : Request(written);

    /// <summary>A parameter of the address or the query, with what its attributes say.</summary>
    public IOpenApiSchema Parameter(Type type, IEnumerable<object> attributes) => Bounded(Of(Nullable.GetUnderlyingType(type) ?? type, Way.In), attributes);

    private IOpenApiSchema Of(Type type, Way way)
    {
        var bare = Nullable.GetUnderlyingType(type) ?? type;
        bare = QueryWord.EnumOf(bare) ?? bare;
        if (WireTexts.Find(bare) is { } text)
        {
            return text;
        }

        if (bare.IsEnum)
        {
            return Component(NameOf(bare), bare, () => new()
            {
                Type = JsonSchemaType.String,
                Description = words.About(bare),
                Enum = [.. Enum.GetValues(bare).Cast<object>().Where(value => value is not IsoDayOfWeek.None).Select(value => JsonSerializer.SerializeToNode(value, bare, json)!)],
            });
        }

        var info = json.GetTypeInfo(bare);
        return info.Kind switch
        {
            JsonTypeInfoKind.Enumerable => new OpenApiSchema { Type = JsonSchemaType.Array, Items = Of(info.ElementType!, way) },
            JsonTypeInfoKind.Dictionary => new OpenApiSchema { Type = JsonSchemaType.Object, AdditionalProperties = Of(info.ElementType!, way) },
            JsonTypeInfoKind.Object => Component(NameOf(bare), (bare, way), () => Shape(info, way, _ => null)),
            _ => throw new InvalidOperationException($"The document does not know how {bare} looks on the wire. Say it in {nameof(WireTexts)}."),
        };
    }

    private IOpenApiSchema Pair(Type written, Type read) =>
        ReadOnlyMembers.Element(json, written) is { } item ? new OpenApiSchema { Type = JsonSchemaType.Array, Items = Request(item, ReadOnlyMembers.Element(json, read)!) } : Request(written, read);

    private OpenApiSchema Shape(JsonTypeInfo info, Way way, Func<JsonPropertyInfo, IOpenApiSchema?> instead)
    {
        var schema = new OpenApiSchema
        {
            Type = JsonSchemaType.Object,
            Description = words.About(info.Type),
            Properties = new Dictionary<string, IOpenApiSchema>(),
            Required = new HashSet<string>(),
            AdditionalPropertiesAllowed = way is Way.Out,
        };
        foreach (var member in info.Properties.Where(member => way is Way.In ? member.Set is not null || member.AssociatedParameter is not null : member.Get is not null))
        {
            schema.Properties[member.Name] = instead(member) is { } given ? Bounded(OrNull(given, MayBeNull(member, way)), AttributesOf(member)) : Member(member, way);
            if (way is Way.In ? member.IsRequired || AttributesOf(member).OfType<NeededAttribute>().Any() : member.ShouldSerialize is null && !IsLeftOut(member))
            {
                schema.Required.Add(member.Name);
            }
        }

        return schema;
    }

    private IOpenApiSchema Member(JsonPropertyInfo member, Way way)
    {
        var schema = Bounded(OrNull(Of(member.PropertyType, way), MayBeNull(member, way)), way is Way.In ? AttributesOf(member) : AttributesOf(member).OfType<FormAttribute>());
        if (words.About(member.DeclaringType, member.Name) is { } about)
        {
            schema.Description = about;
        }

        return schema;
    }

    private static bool IsLeftOut(JsonPropertyInfo member) =>
        AttributesOf(member).OfType<JsonIgnoreAttribute>().Any(ignore => ignore.Condition is JsonIgnoreCondition.WhenWritingNull or JsonIgnoreCondition.WhenWritingDefault);

    // What is left out where it is null is taken as null all the same.
    private static bool MayBeNull(JsonPropertyInfo member, Way way) => way is Way.Out
        ? !IsLeftOut(member) && member.IsGetNullable
        : (member.AssociatedParameter?.IsNullable ?? member.IsSetNullable) && !AttributesOf(member).OfType<NeededAttribute>().Any();

    private static object[] AttributesOf(JsonPropertyInfo member) =>
    [
        .. member.AttributeProvider?.GetCustomAttributes(inherit: true) ?? [],
        .. member.AttributeProvider is MemberInfo { Name: var name } && member.DeclaringType.GetCustomAttribute<BoundedLikeAttribute>() is { } like
            ? like.Type.GetProperty(name)?.GetCustomAttributes(inherit: true) ?? []
            : [],
    ];

    private static IOpenApiSchema OrNull(IOpenApiSchema schema, bool orNull)
    {
        if (!orNull)
        {
            return schema;
        }

        if (schema is OpenApiSchema { Type: { } type } own && own.OneOf is null)
        {
            own.Type = type | JsonSchemaType.Null;
            return own;
        }

        return new OpenApiSchema { OneOf = [new OpenApiSchema { Type = JsonSchemaType.Null }, schema] };
    }

    private static OpenApiSchema ReadOnly(IOpenApiSchema schema)
    {
        // OpenAPI 3.1 is JSON Schema 2020-12: words beside $ref count.
        if (schema is OpenApiSchema own)
        {
            own.ReadOnly = true;
            return own;
        }

        return new OpenApiSchema { AllOf = [schema], ReadOnly = true };
    }

    private static IOpenApiSchema Bounded(IOpenApiSchema schema, IEnumerable<object> attributes)
    {
        foreach (var bound in attributes.OfType<BoundAttribute>())
        {
            if (schema is not OpenApiSchema own)
            {
                continue;
            }

            switch (bound)
            {
                case BetweenAttribute between:
                    var number = EachOf(own);
                    number.Minimum = between.Least.ToString(CultureInfo.InvariantCulture);
                    number.Maximum = between.Most.ToString(CultureInfo.InvariantCulture);
                    break;
                case AtMostAttribute atMost:
                    EachOf(own).MaxLength = atMost.Characters;
                    break;
                case ItemsAttribute items:
                    own.MinItems = items.Fewest;
                    own.MaxItems = items.Most;
                    break;
                case FormAttribute form:
                    own.Pattern = form.Pattern;
                    break;
                case MomentAttribute:
                    own.Format = "date-time";
                    own.Examples = [JsonValue.Create("2026-11-25T09:30:00Z")];
                    break;
                case OneOfAttribute oneOf:
                    own.Enum = [.. oneOf.Texts.Select(text => (JsonNode)JsonValue.Create(text))];
                    break;
            }
        }

        return schema;
    }

    private static OpenApiSchema EachOf(OpenApiSchema schema) => schema.Items as OpenApiSchema ?? schema;

    private OpenApiSchemaReference Component(string name, object of, Func<OpenApiSchema> make)
    {
        // One type that is both asked for and told stands there twice: what must be sent is not what is always told.
        if (of is (Type type, Way way) && _made.TryGetValue(name, out var made) && made is (Type same, Way other) && same == type && other != way)
        {
            name += way is Way.Out ? "Told" : "Written";
        }

        if (!_made.TryAdd(name, of))
        {
            return _made[name].Equals(of)
                ? new OpenApiSchemaReference(name, document)
                : throw new InvalidOperationException($"Two types would be called {name} in the document. Rename one of them.");
        }

        document.AddComponent(name, make());
        return new OpenApiSchemaReference(name, document);
    }

    private static string NameOf(Type type) => type.IsGenericType
        ? $"{type.Name[..type.Name.IndexOf('`', StringComparison.Ordinal)]}Of{string.Concat(type.GetGenericArguments().Select(NameOf))}"
        : type.Name;

    private enum Way
    {
        In,
        Out,
    }
}
