using System.Runtime.CompilerServices;
using Microsoft.AspNetCore.OpenApi;
using Microsoft.OpenApi;

namespace School.Web.Platform.Api.Document;

/// <summary>What the documentation comments say of types and members, as the framework read them while it made the document.</summary>
internal sealed class Descriptions
{
    private static readonly ConditionalWeakTable<OpenApiDocument, Descriptions> ByDocument = [];
    private readonly Dictionary<(Type, string), string> _words = [];

    public static Descriptions Of(OpenApiDocument document) => ByDocument.GetOrCreateValue(document);

    public static Task Note(OpenApiSchema schema, OpenApiSchemaTransformerContext context, CancellationToken cancel)
    {
        if (context.Document is { } document && schema.Description is { Length: > 0 } words)
        {
            var key = context.JsonPropertyInfo is { } member ? (member.DeclaringType, member.Name) : (context.JsonTypeInfo.Type, "");
            var known = Of(document);
            lock (known._words)
            {
                known._words[key] = words;
            }
        }

        return Task.CompletedTask;
    }

    public string? About(Type type, string member = "") => _words.GetValueOrDefault((type, member));
}
