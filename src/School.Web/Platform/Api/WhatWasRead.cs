using System.Text.Json;
using System.Text.Json.Nodes;
using Microsoft.AspNetCore.Http.Json;
using Microsoft.AspNetCore.Http.Metadata;
using Microsoft.Extensions.Options;
using Microsoft.Net.Http.Headers;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Platform.Api;

/// <summary>
/// A replacement takes what a read of the same address gave: members that only the service sets are taken out before the endpoint sees
/// the body, and refused by name where they are not as they stand. The read is the endpoint's own sibling, so nothing has to be listed.
/// </summary>
internal static class WhatWasRead
{
    /// <summary>Runs inside the idempotency key, so that the key stands for what was sent.</summary>
    public static IApplicationBuilder UseWhatWasRead(this IApplicationBuilder app) => app.Use(async (context, next) =>
    {
        if (HttpMethods.IsPut(context.Request.Method) && context.IsApi() && context.Request.HasJsonContentType() && context.GetEndpoint() is RouteEndpoint put
            && ReadOf(context.RequestServices.GetRequiredService<EndpointDataSource>(), put) is { } read && BodyOf(put) is { } written && AnswerOf(read) is { } told
            && await StripAsync(context, read, written, told) is { } refusal)
        {
            await refusal.ToProblem().ExecuteAsync(context);
            return;
        }

        await next(context);
    });

    /// <summary>The endpoint that reads what this one replaces.</summary>
    public static RouteEndpoint? ReadOf(EndpointDataSource endpoints, RouteEndpoint put) => endpoints.Endpoints.OfType<RouteEndpoint>().FirstOrDefault(
        other => other.RoutePattern.RawText == put.RoutePattern.RawText && other.Metadata.GetMetadata<IHttpMethodMetadata>()?.HttpMethods.Contains(HttpMethods.Get) == true);

    public static Type? BodyOf(Endpoint endpoint) => endpoint.Metadata.GetMetadata<IAcceptsMetadata>()?.RequestType;

    public static Type? AnswerOf(Endpoint endpoint) => endpoint.Metadata.OfType<IProducesResponseTypeMetadata>()
        .FirstOrDefault(answer => answer.StatusCode == StatusCodes.Status200OK && answer.ContentTypes.Contains("application/json"))?.Type;

    private static async Task<Refusal?> StripAsync(HttpContext context, RouteEndpoint read, Type written, Type told)
    {
        var json = context.RequestServices.GetRequiredService<IOptions<JsonOptions>>().Value.SerializerOptions;
        if (!ReadOnlyMembers.Any(json, written, told))
        {
            return null;
        }

        context.Request.EnableBuffering();
        var body = await ParseAsync(context);
        context.Request.Body.Position = 0;
        if (body is null || !ReadOnlyMembers.AnySent(json, body, written, told))
        {
            return null;
        }

        var (now, tag) = await ReadAsync(context, read);
        if (now is null)
        {
            return null;
        }

        var changed = ReadOnlyMembers.Strip(json, body, now, written, told);
        context.Request.Body = new MemoryStream(JsonSerializer.SerializeToUtf8Bytes(body, json));
        context.Request.ContentLength = context.Request.Body.Length;
        // Whoever read an older version, or names none, is told that first.
        var isOlder = context.Request.Headers.IfMatch.Count == 0 || (ETags.Wanted(context) is { } version && version != ETags.VersionOf(tag));
        return changed.Count == 0 || isOlder
            ? null
            : Refusal.Invalid(changed.ToDictionary(name => name, _ => new[] { "Only the service sets this. Send it as you read it, or leave it out." }));
    }

    private static async Task<JsonObject?> ParseAsync(HttpContext context)
    {
        try
        {
            return await JsonNode.ParseAsync(context.Request.Body, documentOptions: new() { AllowDuplicateProperties = false }, cancellationToken: context.RequestAborted) as JsonObject;
        }
        catch (JsonException)
        {
            // The endpoint says what is wrong with it.
            return null;
        }
    }

    private static async Task<(JsonObject? Now, string? Tag)> ReadAsync(HttpContext context, RouteEndpoint read)
    {
        if (Viewer.From(context.User) is not { } viewer || read.Metadata.OfType<NeedsAttribute>().Any(needs => !viewer.May(needs.Permission)))
        {
            return (null, null);
        }

        using var answer = new MemoryStream();
        var asking = new DefaultHttpContext { RequestServices = context.RequestServices, User = context.User, RequestAborted = context.RequestAborted };
        asking.Request.Method = HttpMethods.Get;
        asking.Request.Path = context.Request.Path;
        asking.Request.RouteValues = new(context.Request.RouteValues);
        asking.Request.Headers[HeaderNames.Accept] = "application/json";
        asking.Response.Body = answer;
        asking.SetEndpoint(read);
        await read.RequestDelegate!(asking);
        answer.Position = 0;
        return asking.Response.StatusCode == StatusCodes.Status200OK && await JsonNode.ParseAsync(answer, cancellationToken: context.RequestAborted) is JsonObject now
            ? (now, asking.Response.Headers.ETag.ToString())
            : (null, null);
    }
}
