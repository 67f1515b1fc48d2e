using System.Security.Cryptography;
using Microsoft.Net.Http.Headers;

namespace School.Web.Platform.Api;

/// <summary>
/// Every read of the API has an ETag, hears If-None-Match and answers HEAD (RFC 9110, 9.3.2, 13.1.2). An answer that does not name its
/// version gets a digest of itself.
/// </summary>
internal static class ConditionalReads
{
    /// <summary>Item of the request that asks for a digest behind the version.</summary>
    public static readonly object AddDigest = new();

    private static readonly object Held = new();

    private const int DigestBytes = 12;

    /// <summary>Lets an answer out as it is written, for one that goes on for long. It has no ETag. Null where only its headers are wanted.</summary>
    public static Stream? Release(HttpContext context)
    {
        if (context.Items[Held] is not HeldBody { IsHead: false } held)
        {
            return null;
        }

        held.IsReleased = true;
        return context.Response.Body = held.Original;
    }

    /// <summary>Runs before routing, since HEAD is asked of the endpoint as GET.</summary>
    public static IApplicationBuilder UseConditionalReads(this IApplicationBuilder app) => app.Use(async (context, next) =>
    {
        var isHead = HttpMethods.IsHead(context.Request.Method);
        if (!context.IsApi() || (!isHead && !HttpMethods.IsGet(context.Request.Method)))
        {
            await next(context);
            return;
        }

        var original = context.Response.Body;
        using var answer = new PooledBytes();
        await using var body = new PooledBody(answer);
        var held = new HeldBody(original, isHead);
        context.Items[Held] = held;
        context.Response.Body = body;
        context.Request.Method = HttpMethods.Get;
        try
        {
            await next(context);
        }
        finally
        {
            context.Response.Body = original;
            context.Request.Method = isHead ? HttpMethods.Head : HttpMethods.Get;
        }

        if (held.IsReleased)
        {
            return;
        }

        if (context.Response.StatusCode == StatusCodes.Status200OK && context.Response.ContentType != EventStreams.MediaType)
        {
            Tag(context, answer);
            if (IsKnown(context))
            {
                context.Response.StatusCode = StatusCodes.Status304NotModified;
                context.Response.ContentType = null;
                context.Response.ContentLength = null;
                return;
            }
        }

        if (isHead)
        {
            context.Response.ContentLength = context.Response.ContentType == EventStreams.MediaType ? null : answer.Length;
            return;
        }

        // Writing begins the answer: a refusal without a body gets one further out.
        if (answer.Length > 0)
        {
            await original.WriteAsync(answer.Written, context.RequestAborted);
        }
    });

    private static void Tag(HttpContext context, PooledBytes answer)
    {
        var version = context.Response.Headers.ETag.ToString().Trim('"');
        if (version.Length == 0 || context.Items.ContainsKey(AddDigest))
        {
            var digest = Convert.ToHexStringLower(SHA256.HashData(answer.Written.Span).AsSpan(0, DigestBytes));
            // Begins with a letter, so that it is never read as a version.
            context.Response.Headers.ETag = version.Length == 0 ? $"\"d{digest}\"" : $"\"{version}.{digest}\"";
        }
    }

    // Weak comparison; any answer there is will do for *.
    private static bool IsKnown(HttpContext context) =>
        EntityTagHeaderValue.TryParseList(context.Request.Headers.IfNoneMatch, out var known)
        && EntityTagHeaderValue.TryParse(context.Response.Headers.ETag.ToString(), out var tag)
        && known.Any(one => one.Equals(EntityTagHeaderValue.Any) || one.Compare(tag, useStrongComparison: false));

    private sealed record HeldBody(Stream Original, bool IsHead)
    {
        public bool IsReleased { get; set; }
    }
}
