using System.Net.Http.Json;
using System.Text.Json;
using System.Text.RegularExpressions;
using Microsoft.AspNetCore.Routing;
using Microsoft.Extensions.DependencyInjection;
using School.Tests;
using School.Web.Platform.Api;
using School.Web.Tests.Host;

namespace School.Web.Tests.Platform;

public sealed partial class OpenApiTests(TestPostgres postgres)
{
    private static readonly HashSet<string> Writes = ["post", "put", "delete", "patch"];

    [Fact]
    public async Task The_document_names_every_endpoint_of_the_api_and_no_other()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var document = await DocumentAsync(host);
        var told = Operations(document).Select(o => $"{o.Method} {o.Path}").Order().ToList();
        var mapped = Endpoints(host).Select(e => $"{e.Method} {e.Path}").Order().ToList();
        Assert.NotEmpty(mapped);
        Assert.Equal(mapped, told);
    }

    [Fact]
    public async Task The_document_is_OpenAPI_3_1_and_every_operation_says_what_it_does_and_who_may()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var document = await DocumentAsync(host);
        // OpenAPI Specification 3.1, "openapi": the version of the specification.
        Assert.StartsWith("3.1", document.GetProperty("openapi").GetString(), StringComparison.Ordinal);
        foreach (var (method, path, operation) in Operations(document))
        {
            Assert.True(operation.TryGetProperty("summary", out var summary) && summary.GetString()!.Length > 3, $"{method} {path} has no summary");
            Assert.Contains("For", operation.GetProperty("description").GetString(), StringComparison.Ordinal);
            Assert.Contains(operation.GetProperty("responses").EnumerateObject(), r => r.Name.StartsWith('2'));
        }
    }

    [Fact]
    public async Task Every_write_takes_an_idempotency_key()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        // A token is made anew each time. A file of 200 MB is kept under no key: loading it once more leaves what loading it once did.
        string[] none = ["/api/v1/tokens", "/api/v1/postcodes"];
        var without = Endpoints(host).Where(e => Writes.Contains(e.Method) && !none.Contains(e.Path) && !Idempotency.Takes(e.Endpoint.Metadata));
        Assert.Empty(without.Select(e => $"{e.Method} {e.Path}"));
    }

    [Fact]
    public async Task If_Match_is_asked_of_every_replacement_and_left_to_the_caller_on_acts()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var told = Operations(await DocumentAsync(host)).ToDictionary(o => $"{o.Method} {o.Path}", o => IfMatch(o.Operation));
        // It makes what is not there yet, and that has no version.
        const string Makes = "put /api/v1/pupils/{id}/contacts/{contactId}";
        Assert.All(told.Where(o => o.Key.StartsWith("put", StringComparison.OrdinalIgnoreCase)), o => Assert.Equal((o.Key, o.Key != Makes), (o.Key, o.Value)));
        foreach (var act in new[] { "move", "cancel", "missed" })
        {
            Assert.False(Assert.Single(told, o => o.Key.EndsWith($"/lessons/{{id}}/{act}", StringComparison.Ordinal)).Value);
        }

        // Null: no such parameter; else whether it is required.
        static bool? IfMatch(JsonElement operation) => operation.TryGetProperty("parameters", out var parameters)
            && parameters.EnumerateArray().FirstOrDefault(p => p.GetProperty("name").GetString() == "If-Match") is { ValueKind: JsonValueKind.Object } header
                ? header.TryGetProperty("required", out var required) && required.GetBoolean()
                : null;
    }

    [Fact]
    public async Task The_reference_page_shows_every_operation()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var client = host.Anonymous();
        var page = await client.GetStringAsync("/api");
        foreach (var (method, path, _) in Operations(await DocumentAsync(host)))
        {
            Assert.Contains($"<b>{method.ToUpperInvariant()}</b> {path}", page, StringComparison.Ordinal);
        }
    }

    private static async Task<JsonElement> DocumentAsync(SchoolHost host)
    {
        using var client = host.Anonymous();
        return await client.GetFromJsonAsync<JsonElement>("/openapi/v1.json");
    }

    private static IEnumerable<(string Method, string Path, JsonElement Operation)> Operations(JsonElement document) =>
        from path in document.GetProperty("paths").EnumerateObject()
        from operation in path.Value.EnumerateObject()
        where Writes.Contains(operation.Name) || operation.Name == "get"
        select (operation.Name, path.Name, operation.Value);

    private static IEnumerable<(string Method, string Path, RouteEndpoint Endpoint)> Endpoints(SchoolHost host) =>
        from endpoint in host.Services.GetRequiredService<EndpointDataSource>().Endpoints.OfType<RouteEndpoint>()
        let path = "/" + Constraint().Replace(endpoint.RoutePattern.RawText!.Trim('/'), "}")
        where path.StartsWith("/api/v1/", StringComparison.Ordinal)
        from method in endpoint.Metadata.GetMetadata<HttpMethodMetadata>()!.HttpMethods
        select (method.ToLowerInvariant(), path, endpoint);

    [GeneratedRegex(@":[^}]+\}")]
    private static partial Regex Constraint();
}
