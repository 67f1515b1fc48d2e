using System.Text.Json.Nodes;
using Microsoft.AspNetCore.Mvc.ApiExplorer;
using Microsoft.Net.Http.Headers;
using Microsoft.OpenApi;
using School.Web.Platform.Access;

namespace School.Web.Platform.Api.Document;

/// <summary>A member of problem details beyond the usual ones, told by the module that writes it.</summary>
internal sealed record ProblemMember(string Name, Type Type, string Description);

/// <summary>
/// Every status that an operation may answer, with content and headers: what the endpoint declares, and what follows for all alike from
/// having an id in the address, a body, a permission or an idempotency key.
/// </summary>
internal sealed class Answers(OpenApiDocument document, WireSchemas schemas, IReadOnlyList<ProblemMember> members)
{
    private const string ProblemName = "Problem";
    private const string ProblemContent = "application/problem+json";

    private static readonly Dictionary<int, string> Meaning = new()
    {
        [200] = "Done, or here it is.",
        [201] = "Made.",
        [204] = "Done.",
        [304] = "Not changed since the ETag in If-None-Match.",
        [400] = "Not well formed; `errors` has sentences by field.",
        [401] = "Not signed in.",
        [403] = "Not allowed to this sign-in.",
        [404] = "No such thing, or not yours.",
        [409] = "Somebody else was first; may carry `alternatives`.",
        [412] = "Changed by somebody else since the ETag in If-Match.",
        [413] = "More than 1 MiB.",
        [414] = $"An address of more than {AddressLimit.Longest / 1024} KiB.",
        [415] = "The body is not application/json.",
        [422] = "A rule says no; may carry `alternatives`.",
        [428] = "If-Match is missing.",
        [429] = "Too many tries, or too many at once.",
        [500] = "An error of ours. Nothing was changed.",
        [503] = "The database is away. Nothing was changed.",
    };

    public void AddProblem() => document.AddComponent(ProblemName, new OpenApiSchema
    {
        Type = JsonSchemaType.Object,
        Description = "Problem details (RFC 9457). More members may come; pass over what you do not know.",
        Required = new HashSet<string> { "status", "title", "detail", "code" },
        AdditionalPropertiesAllowed = true,
        Properties = new Dictionary<string, IOpenApiSchema>
        {
            ["type"] = new OpenApiSchema { Type = JsonSchemaType.String, Description = "A page about the status." },
            ["status"] = new OpenApiSchema { Type = JsonSchemaType.Integer, Format = "int32" },
            ["title"] = new OpenApiSchema { Type = JsonSchemaType.String },
            ["detail"] = new OpenApiSchema { Type = JsonSchemaType.String, Description = "A sentence for whoever asked." },
            ["instance"] = new OpenApiSchema { Type = JsonSchemaType.String },
            ["code"] = new OpenApiSchema { Type = JsonSchemaType.String, Pattern = "^[a-z][a-z0-9_]*$", Description = "Stable; one code for one rule." },
            ["traceId"] = new OpenApiSchema { Type = JsonSchemaType.String, Description = "What the log calls this request." },
            ["errors"] = new OpenApiSchema
            {
                Type = JsonSchemaType.Object,
                Description = "Sentences by field, with 400.",
                AdditionalProperties = new OpenApiSchema { Type = JsonSchemaType.Array, Items = new OpenApiSchema { Type = JsonSchemaType.String } },
            },
        }.Concat(members.Select(member => KeyValuePair.Create(member.Name, Described(schemas.Answer(member.Type), member.Description)))).ToDictionary(),
    });

    public OpenApiResponses Of(ApiDescription endpoint)
    {
        var metadata = endpoint.ActionDescriptor.EndpointMetadata;
        var isRead = endpoint.HttpMethod is "GET";
        var takesKey = Idempotency.Takes(metadata);
        var declared = endpoint.SupportedResponseTypes.ToLookup(answer => answer.StatusCode);
        var statuses = new SortedSet<int>(declared.Select(group => group.Key)) { StatusCodes.Status414UriTooLong, 500, 503 };
        var events = metadata.OfType<EventStreams>().FirstOrDefault();
        statuses.UnionWith(events is not null ? [] : isRead ? [304] : [413]);
        statuses.UnionWith(metadata.OfType<NeedsAttribute>().Any() ? [401, 403, 429] : []);
        statuses.UnionWith(HasBody(endpoint) ? [400, 415] : []);
        statuses.UnionWith(takesKey ? [400, 422] : []);
        statuses.UnionWith(endpoint.ParameterDescriptions.Any(p => p.Source.Id is "Query" || (p.Source.Id is "Path" && p.Type != typeof(Guid) && p.Type != typeof(string))) ? [400] : []);
        statuses.UnionWith(endpoint.ParameterDescriptions.Any(p => p.Source.Id is "Path") ? [404] : []);
        var responses = new OpenApiResponses();
        foreach (var status in statuses)
        {
            var response = new OpenApiResponse { Description = Meaning.GetValueOrDefault(status, "Problem details."), Headers = HeadersOf(status, isRead && events is null, takesKey) };
            response.Content = status is 204 or 304 ? null : status >= 400
                ? new Dictionary<string, OpenApiMediaType> { [ProblemContent] = new() { Schema = new OpenApiSchemaReference(ProblemName, document) } }
                : declared[status].SelectMany(answer => answer.ApiResponseFormats.Select(format => (format.MediaType, answer.Type)))
                    .DistinctBy(content => content.MediaType)
                    .ToDictionary(content => content.MediaType, content => new OpenApiMediaType { Schema = content.MediaType.StartsWith("text/", StringComparison.Ordinal) ? schemas.Answer(typeof(string)) : schemas.Answer(content.Type!) });
            if (events is not null && status == StatusCodes.Status200OK)
            {
                response.Description = "Events for as long as the reader stays, in the form of the HTML standard (9.2, Server-sent events).";
                var text = (OpenApiSchema)response.Content!.Single().Value.Schema!;
                schemas.Answer(events.Event);
                text.Description = $"The data of each event is {events.Event.Name} as JSON.";
            }

            responses[status.ToString(null, null)] = response;
        }

        return responses;
    }

    public static bool HasBody(ApiDescription endpoint) => endpoint.ParameterDescriptions.Any(p => p.Source.Id is "Body");

    private static Dictionary<string, IOpenApiHeader>? HeadersOf(int status, bool isRead, bool takesKey)
    {
        var headers = new Dictionary<string, IOpenApiHeader>();
        switch (status)
        {
            case 200 or 304 when isRead:
                headers[HeaderNames.ETag] = Text("What this answer is known by; for If-None-Match, and where it can be replaced for If-Match.", always: true);
                break;
            case 200 or 201 or 204 when !isRead:
                headers[HeaderNames.ETag] = Text("The version now, where there is one.");
                break;
            case 401:
                headers[HeaderNames.WWWAuthenticate] = Text("How to sign in.", always: true);
                break;
            case 429 or 503:
                headers[HeaderNames.RetryAfter] = new OpenApiHeader { Description = "Seconds to wait.", Required = true, Schema = new OpenApiSchema { Type = JsonSchemaType.Integer, Minimum = "0" } };
                break;
        }

        if (status == 201)
        {
            headers[HeaderNames.Location] = new OpenApiHeader { Description = "Where what was made is read.", Required = true, Schema = new OpenApiSchema { Type = JsonSchemaType.String, Format = "uri-reference" } };
        }

        if (takesKey && status < 500)
        {
            headers[Idempotency.Replayed] = new OpenApiHeader
            {
                Description = "There when this is the answer that the key was given before.",
                Schema = new OpenApiSchema { Type = JsonSchemaType.String, Enum = [JsonValue.Create("true")] },
            };
        }

        return headers.Count > 0 ? headers : null;
    }

    private static OpenApiHeader Text(string description, bool always = false) =>
        new() { Description = description, Required = always, Schema = new OpenApiSchema { Type = JsonSchemaType.String } };

    private static IOpenApiSchema Described(IOpenApiSchema schema, string description)
    {
        schema.Description = description;
        return schema;
    }
}
