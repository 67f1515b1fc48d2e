using System.Text.Json.Nodes;
using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.OpenApi;
using Microsoft.OpenApi;
using NodaTime;
using School.Web.Platform.Access;

namespace School.Web.Platform.Api;

/// <summary>The OpenAPI 3.1 document: how NodaTime types look on the wire, who may call what, and the headers every write takes.</summary>
internal static class OpenApiSetup
{
    public const string Document = "v1";

    private static readonly Dictionary<Type, (string Format, string Example)> Texts = new()
    {
        [typeof(Instant)] = ("date-time", "2026-11-25T09:30:00Z"),
        [typeof(LocalDate)] = ("date", "2026-11-25"),
        [typeof(LocalTime)] = ("time", "09:30:00"),
        [typeof(QueryDate)] = ("date", "2026-11-25"),
    };

    public static void Configure(OpenApiOptions options)
    {
        options.OpenApiVersion = OpenApiSpecVersion.OpenApi3_1;
        options.ShouldInclude = description => description.RelativePath?.StartsWith("api/v1/", StringComparison.Ordinal) == true;
        options.AddSchemaTransformer((schema, context, _) =>
        {
            var type = Nullable.GetUnderlyingType(context.JsonTypeInfo.Type) ?? context.JsonTypeInfo.Type;
            if (Texts.TryGetValue(type, out var text))
            {
                schema.Type = type == context.JsonTypeInfo.Type ? JsonSchemaType.String : JsonSchemaType.String | JsonSchemaType.Null;
                schema.Format = text.Format;
                schema.Examples = [JsonValue.Create(text.Example)];
                schema.Properties?.Clear();
                schema.Required?.Clear();
            }

            if (QueryWord.EnumOf(type) is { } words)
            {
                schema.Type = JsonSchemaType.String;
                schema.Enum = [.. QueryWord.WordsOf(words).Select(word => JsonValue.Create(word))];
                schema.Properties?.Clear();
                schema.Required?.Clear();
            }

            return Task.CompletedTask;
        });
        options.AddOperationTransformer((operation, context, _) =>
        {
            var metadata = context.Description.ActionDescriptor.EndpointMetadata;
            var needs = metadata.OfType<NeedsAttribute>().ToList();
            if (needs.Count > 0)
            {
                var roles = Enum.GetValues<Role>().Where(role => needs.All(n => Permissions.Allows(role, n.Permission)));
                operation.Description = $"{operation.Description} For: {string.Join(", ", roles.Select(r => r.ToString().ToLowerInvariant()))}.".Trim();
                operation.Security = [new() { [new OpenApiSecuritySchemeReference(AccessSetup.TokenScheme, context.Document)] = [] }];
            }
            else if (metadata.OfType<IAllowAnonymous>().Any())
            {
                operation.Description = $"{operation.Description} For anybody.".Trim();
            }

            var writes = context.Description.HttpMethod is not "GET";
            string[] also = [.. needs.Count > 0 ? ["401", "403"] : Array.Empty<string>(), .. writes ? ["413", "415"] : Array.Empty<string>()];
            operation.Responses ??= [];
            foreach (var status in also)
            {
                operation.Responses.TryAdd(status, new OpenApiResponse { Description = "Problem details (RFC 9457)." });
            }

            if (operation.Responses.ContainsKey("412"))
            {
                operation.Parameters ??= [];
                operation.Parameters.Add(new OpenApiParameter
                {
                    Name = "If-Match",
                    In = ParameterLocation.Header,
                    Required = operation.Responses.ContainsKey("428"),
                    Description = "The ETag that reading this gave.",
                    Schema = new OpenApiSchema { Type = JsonSchemaType.String },
                });
            }

            if (Idempotency.Takes(metadata))
            {
                operation.Parameters ??= [];
                operation.Parameters.Add(new OpenApiParameter
                {
                    Name = Idempotency.Header,
                    In = ParameterLocation.Header,
                    Description = "The same key with the same request has one effect and one answer. A UUID is a good one.",
                    Schema = new OpenApiSchema { Type = JsonSchemaType.String, MaxLength = 200 },
                });
            }

            return Task.CompletedTask;
        });
        options.AddDocumentTransformer((document, _, _) =>
        {
            document.Info = new() { Title = "School", Version = "v1", Description = "The diary, pupils, instructors and cars of a driving school." };
            document.Servers?.Clear();
            document.Components ??= new();
            document.Components.SecuritySchemes = new Dictionary<string, IOpenApiSecurityScheme>
            {
                [AccessSetup.TokenScheme] = new OpenApiSecurityScheme
                {
                    Type = SecuritySchemeType.Http,
                    Scheme = "bearer",
                    Description = "A token from POST /api/v1/tokens.",
                },
            };
            return Task.CompletedTask;
        });
    }
}
