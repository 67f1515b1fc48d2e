using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.OpenApi;
using Microsoft.OpenApi;
using School.Web.Platform.Api;

namespace School.Web.Modules.Api;

/// <summary>The API for people to read, made from the same document that programs read.</summary>
[AllowAnonymous]
internal sealed class IndexModel([FromKeyedServices(OpenApiSetup.Document)] IOpenApiDocumentProvider documents) : PageModel
{
    public IReadOnlyList<IGrouping<string, Operation>> Groups { get; private set; } = [];

    public async Task OnGetAsync(CancellationToken cancel)
    {
        var document = await documents.GetOpenApiDocumentAsync(cancel);
        Groups =
        [
            .. document.Paths
                .SelectMany(path => (path.Value.Operations ?? []).Select(operation => Operation.Of(operation.Key.Method, path.Key, operation.Value)))
                .OrderBy(operation => operation.Path, StringComparer.Ordinal)
                .GroupBy(operation => operation.Resource),
        ];
    }

    internal sealed record Operation(string Method, string Path, string Resource, string Summary, string Words, IReadOnlyList<Part> Takes, IReadOnlyList<Answer> Answers)
    {
        public string Anchor => $"{Method}-{Path.Replace('/', '-').Replace("{", "", StringComparison.Ordinal).Replace("}", "", StringComparison.Ordinal)}".ToLowerInvariant();

        public static Operation Of(string method, string path, OpenApiOperation operation)
        {
            var body = operation.RequestBody?.Content?.Values.FirstOrDefault()?.Schema;
            IEnumerable<Part> members = body?.Properties?.Select(p => new Part(p.Key, "body", Describe(p.Value), body.Required?.Contains(p.Key) == true, p.Value.Description ?? "")) ?? [];
            var parameters = operation.Parameters?.Select(p => new Part(p.Name ?? "", p.In?.ToString().ToLowerInvariant() ?? "", Describe(p.Schema), p.Required, p.Description ?? "")) ?? [];
            return new(
                method.ToUpperInvariant(), path, path.Split('/', StringSplitOptions.RemoveEmptyEntries).ElementAtOrDefault(2) ?? "", operation.Summary ?? "",
                operation.Description ?? "", [.. parameters, .. members],
                [.. operation.Responses?.Select(r => new Answer(r.Key, r.Value.Description ?? "")) ?? []]);
        }

        private static string Describe(IOpenApiSchema? schema)
        {
            if (schema is null)
            {
                return "";
            }

            if (schema.Enum is { Count: > 0 } values)
            {
                return string.Join(" | ", values.Select(v => v?.ToString()));
            }

            if (schema is OpenApiSchemaReference reference)
            {
                return reference.Reference.Id ?? "object";
            }

            var type = schema.Type?.ToString().ToLowerInvariant().Replace(", ", " or ", StringComparison.Ordinal) ?? "object";
            return schema.Items is { } items ? $"list of {Describe(items)}" : schema.Format is { } format ? $"{type} ({format})" : type;
        }
    }

    internal sealed record Part(string Name, string In, string Type, bool Required, string Words);

    internal sealed record Answer(string Status, string Words);
}
