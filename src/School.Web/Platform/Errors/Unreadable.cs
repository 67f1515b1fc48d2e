using System.Text.Json;
using Microsoft.AspNetCore.Diagnostics;
using Microsoft.AspNetCore.Http.Metadata;
using Microsoft.Extensions.Options;
using School.Web.Platform.Api;

namespace School.Web.Platform.Errors;

/// <summary>Explains a request that could not be read, all faults in one round, from what the endpoint says it takes.</summary>
internal static class Unreadable
{
    public static readonly Refusal TooLarge = new(RefusalKind.TooLarge, "too_large", "That is more than this takes at once. Send 1 MiB at the most.");

    private static readonly Refusal NoBody = Refusal.Invalid("body", "Send a JSON object as the body. Look at its form in the API reference at /api.");

    /// <summary>What the reader of a request threw.</summary>
    public static async Task<Refusal> ExplainAsync(HttpContext context, IExceptionHandlerFeature fault, BadHttpRequestException exception) =>
        exception.StatusCode == StatusCodes.Status413PayloadTooLarge ? TooLarge
            : (await FaultsAsync(context, fault.Endpoint, fault.RouteValues)).ToRefusal() ?? OfPath(exception);

    /// <summary>What it refused without a word, as it does for what may be left out; null where nothing is wrong with the request itself.</summary>
    public static async Task<Refusal?> ExplainAsync(HttpContext context) =>
        (await FaultsAsync(context, context.GetEndpoint(), context.Request.RouteValues)).ToRefusal();

    private static async Task<FieldErrors> FaultsAsync(HttpContext context, Endpoint? endpoint, RouteValueDictionary? route)
    {
        var faults = endpoint is null ? new() : UnreadableAddress.FaultsOf(context.Request, route, endpoint);
        return endpoint?.Metadata.GetMetadata<IAcceptsMetadata>()?.RequestType is { } body ? faults.AddAll(await BodyFaultsAsync(context, body)) : faults;
    }

    private static async Task<FieldErrors> BodyFaultsAsync(HttpContext context, Type type)
    {
        if (!context.Request.Body.CanSeek)
        {
            return new();
        }

        context.Request.Body.Position = 0;
        var options = context.RequestServices.GetRequiredService<IOptions<Microsoft.AspNetCore.Http.Json.JsonOptions>>().Value.SerializerOptions;
        try
        {
            using var document = await JsonDocument.ParseAsync(context.Request.Body, cancellationToken: context.RequestAborted);
            return UnreadableJson.FaultsOf(document.RootElement, type, options);
        }
        catch (JsonException broken)
        {
            return context.Request.Body.Length == 0
                ? new FieldErrors().AddAll(NoBody)
                : new FieldErrors().Add("body", $"This is not JSON: it breaks off or goes wrong in line {broken.LineNumber + 1}, byte {broken.BytePositionInLine + 1}.");
        }
    }

    /// <summary>What the reading above does not find: the place that the reader names, or the body as a whole.</summary>
    private static Refusal OfPath(BadHttpRequestException exception) =>
        exception.InnerException is JsonException { Path: { } path } && path.TrimStart('$', '.') is { Length: > 0 } member
            ? Refusal.Invalid(member, UnreadableJson.NoForm)
            : NoBody;
}
