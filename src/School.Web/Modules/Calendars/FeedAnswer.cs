using System.IO.Compression;
using System.Security.Cryptography;
using System.Text;
using Microsoft.EntityFrameworkCore;
using Microsoft.Net.Http.Headers;
using NodaTime;
using NodaTime.Text;
using School.Web.Modules.People.Contracts;
using School.Web.Platform.Database;
using School.Web.Platform.Security;

namespace School.Web.Modules.Calendars;

/// <summary>Answers calendar programs, who sign in by nothing but the address (RFC 9110 for all that goes beside the text).</summary>
internal sealed class FeedAnswer(SchoolDb db, FeedContent content, Attempts attempts, IClock clock)
{
    private const int MostWrong = 60;
    private static readonly Duration WrongWindow = Duration.FromMinutes(10);
    private static readonly Duration UseNoted = Duration.FromMinutes(10);

    private static readonly InstantPattern HttpDate = InstantPattern.CreateWithInvariantCulture("ddd, dd MMM uuuu HH:mm:ss 'GMT'");

    public async Task<IResult> OfAsync(string secret, HttpContext context, CancellationToken cancel)
    {
        var hash = FeedSecret.HashOf(secret);
        var feed = await db.Set<Feed>().AsNoTracking().SingleOrDefaultAsync(f => f.SecretHash == hash && f.RevokedAt == null, cancel);
        if (feed is null || !await db.IsOpenAsync(feed.OwnerPersonId, cancel))
        {
            return await WrongAsync(context, cancel);
        }

        var text = Encoding.UTF8.GetBytes(await content.WriteAsync(feed, cancel));
        var textHash = SHA256.HashData(text);
        var changed = await NoteAsync(feed, textHash, cancel);

        var gzip = TakesGzip(context.Request);
        var tag = $"\"{Convert.ToHexStringLower(textHash)}{(gzip ? "-gzip" : "")}\"";
        var headers = context.Response.Headers;
        headers.ETag = tag;
        headers.LastModified = HttpDate.Format(changed);
        headers.CacheControl = "private, max-age=900";
        headers.Vary = HeaderNames.AcceptEncoding;
        if (IsUnchanged(context.Request, tag, changed))
        {
            return Results.StatusCode(StatusCodes.Status304NotModified);
        }

        if (gzip)
        {
            headers.ContentEncoding = "gzip";
            text = Compress(text);
        }

        return Results.Bytes(text, "text/calendar; charset=utf-8");
    }

    private async Task<IResult> WrongAsync(HttpContext context, CancellationToken cancel)
    {
        if (await attempts.AllowAsync("feed", context.Network(), MostWrong, WrongWindow, cancel))
        {
            return Results.Text("There is no calendar at this address.", statusCode: StatusCodes.Status404NotFound);
        }

        context.Response.Headers.RetryAfter = ((int)Math.Ceiling(attempts.LeftOf(WrongWindow).TotalSeconds)).ToString(System.Globalization.CultureInfo.InvariantCulture);
        return Results.Text("Too many wrong addresses. Try again later.", statusCode: StatusCodes.Status429TooManyRequests);
    }

    /// <summary>Notes the use, now and then, and a change of what is told; returns when that last changed, to the whole second.</summary>
    private async Task<Instant> NoteAsync(Feed feed, byte[] textHash, CancellationToken cancel)
    {
        var now = Instant.FromUnixTimeSeconds(clock.GetCurrentInstant().ToUnixTimeSeconds());
        if (feed.ContentChangedAt is { } since && feed.ContentHash is { } known && known.AsSpan().SequenceEqual(textHash))
        {
            if (feed.LastReadAt is null || now - feed.LastReadAt >= UseNoted)
            {
                await db.AloneAsync(() => db.Set<Feed>().Where(f => f.Id == feed.Id).ExecuteUpdateAsync(set => set.SetProperty(f => f.LastReadAt, now), cancel), cancel);
            }

            return since;
        }

        await db.AloneAsync(
            () => db.Set<Feed>().Where(f => f.Id == feed.Id).ExecuteUpdateAsync(
                set => set.SetProperty(f => f.LastReadAt, now).SetProperty(f => f.ContentHash, textHash).SetProperty(f => f.ContentChangedAt, now), cancel),
            cancel);
        return now;
    }

    /// <summary>RFC 9110 section 13.2.2: If-None-Match decides where it is sent, by weak comparison; only without it If-Modified-Since does.</summary>
    private static bool IsUnchanged(HttpRequest request, string tag, Instant changed)
    {
        var headers = request.GetTypedHeaders();
        if (request.Headers.IfNoneMatch.Count > 0)
        {
            return headers.IfNoneMatch.Any(known => known.Equals(EntityTagHeaderValue.Any) || known.Tag == tag);
        }

        return headers.IfModifiedSince is { } since && Instant.FromDateTimeOffset(since) >= changed;
    }

    private static bool TakesGzip(HttpRequest request)
    {
        var takes = request.GetTypedHeaders().AcceptEncoding;
        var named = takes.FirstOrDefault(coding => coding.Value.Equals("gzip", StringComparison.OrdinalIgnoreCase))
            ?? takes.FirstOrDefault(coding => coding.Value == "*");
        return named is not null && named.Quality is not 0;
    }

    private static byte[] Compress(byte[] text)
    {
        using var packed = new MemoryStream();
        using (var gzip = new GZipStream(packed, CompressionLevel.Fastest))
        {
            gzip.Write(text);
        }

        return packed.ToArray();
    }
}
