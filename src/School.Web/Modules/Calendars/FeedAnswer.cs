using System.Security.Cryptography;
using Microsoft.EntityFrameworkCore;
using Microsoft.Net.Http.Headers;
using NodaTime;
using NodaTime.Text;
using School.Core.Calendars;
using School.Web.Modules.People.Contracts;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Security;

namespace School.Web.Modules.Calendars;

/// <summary>Answers calendar programs, who sign in by nothing but the address (RFC 9110 for all that goes beside the text).</summary>
internal sealed class FeedAnswer(SchoolDb db, ReadOnce once, FeedContent content, Attempts attempts, IClock clock)
{
    private const int MostWrong = 60;
    private static readonly Duration WrongWindow = Duration.FromMinutes(10);
    private static readonly Duration UseNoted = Duration.FromMinutes(10);

    private static readonly string Program = string.Join(' ',
        typeof(FeedAnswer).Module.ModuleVersionId, typeof(FeedWriter).Module.ModuleVersionId, DateTimeZoneProviders.Tzdb.VersionId);

    private static readonly InstantPattern HttpDate = InstantPattern.CreateWithInvariantCulture("ddd, dd MMM uuuu HH:mm:ss 'GMT'");

    public async Task<IResult> OfAsync(string secret, HttpContext context, CancellationToken cancel)
    {
        var hash = FeedSecret.HashOf(secret);
        // An address tells no more than its owner may see now: hats that were taken off take it with them (MakeFeed has the same rule).
        var owners = db.OpenHats();
        var feed = await db.Set<Feed>().AsNoTracking().SingleOrDefaultAsync(
            f => f.SecretHash == hash && f.RevokedAt == null && owners.Any(o => o.PersonId == f.OwnerPersonId
                && (o.KeepsDiary || (f.InstructorId != null && f.InstructorId == o.InstructorId) || (f.PupilId != null && f.PupilId == o.PupilId))),
            cancel);
        if (feed is null)
        {
            return await WrongAsync(context, cancel);
        }

        var gzip = TakesGzip(context.Request);
        if (Stands(feed) && IsUnchanged(context.Request, TagOf(feed.ContentHash!, gzip), feed.ContentChangedAt!.Value))
        {
            await NoteUseAsync(feed, cancel);
            return Unchanged(context.Response, TagOf(feed.ContentHash!, gzip), feed.ContentChangedAt.Value);
        }

        once.Forget();
        var text = new PooledBytes();
        context.Response.RegisterForDispose(text);
        var until = await content.WriteAsync(feed, text, cancel);
        var textHash = SHA256.HashData(text.Written.Span);
        var changed = await NoteAsync(feed, textHash, until, cancel);
        var tag = TagOf(textHash, gzip);
        if (IsUnchanged(context.Request, tag, changed))
        {
            return Unchanged(context.Response, tag, changed);
        }

        Validate(context.Response, tag, changed);
        return new ToldFeed(text.Written, gzip);
    }

    /// <summary>Whether what was last told is what would be told now, so that nobody need write it to know.</summary>
    private bool Stands(Feed feed)
    {
        var now = clock.GetCurrentInstant();
        // The upper bound tells of a clock that was ahead when it was told.
        return feed.ContentHash is not null && feed.ContentChangedAt is not null && feed.ToldVersion == feed.Version && feed.ToldBy == Teller(feed)
            && now < feed.ToldUntil && feed.ToldUntil <= now + FeedContent.Stands;
    }

    /// <summary>What else the text depends on: the program and its time zones, and how the feed was asked for.</summary>
    private static string Teller(Feed feed) => $"{Program} {feed.Detail} {feed.HideCancelled}";

    private static string TagOf(byte[] textHash, bool gzip) => $"\"{Convert.ToHexStringLower(textHash)}{(gzip ? "-gzip" : "")}\"";

    private static IResult Unchanged(HttpResponse response, string tag, Instant changed)
    {
        Validate(response, tag, changed);
        return Results.StatusCode(StatusCodes.Status304NotModified);
    }

    private static void Validate(HttpResponse response, string tag, Instant changed)
    {
        response.Headers.ETag = tag;
        response.Headers.LastModified = HttpDate.Format(changed);
        response.Headers.CacheControl = "private, max-age=900";
        response.Headers.Vary = HeaderNames.AcceptEncoding;
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

    /// <summary>Notes the use, now and then.</summary>
    private async Task NoteUseAsync(Feed feed, CancellationToken cancel)
    {
        var now = WholeSecond();
        if (feed.LastReadAt is null || now - feed.LastReadAt >= UseNoted)
        {
            await db.AloneAsync(() => db.Set<Feed>().Where(f => f.Id == feed.Id).ExecuteUpdateAsync(set => set.SetProperty(f => f.LastReadAt, now), cancel), cancel);
        }
    }

    /// <summary>Notes the use and what was told; returns when that last changed, to the whole second.</summary>
    private async Task<Instant> NoteAsync(Feed feed, byte[] textHash, Instant until, CancellationToken cancel)
    {
        var now = WholeSecond();
        var same = feed.ContentChangedAt is not null && feed.ContentHash is { } known && known.AsSpan().SequenceEqual(textHash);
        if (same && Stands(feed))
        {
            await NoteUseAsync(feed, cancel);
            return feed.ContentChangedAt!.Value;
        }

        var changed = same ? feed.ContentChangedAt!.Value : now;
        var teller = Teller(feed);
        await db.AloneAsync(
            () => db.Set<Feed>().Where(f => f.Id == feed.Id).ExecuteUpdateAsync(
                set => set.SetProperty(f => f.LastReadAt, now).SetProperty(f => f.ContentHash, textHash).SetProperty(f => f.ContentChangedAt, changed)
                    .SetProperty(f => f.ToldVersion, feed.Version).SetProperty(f => f.ToldBy, teller).SetProperty(f => f.ToldUntil, until),
                cancel),
            cancel);
        return changed;
    }

    private Instant WholeSecond() => Instant.FromUnixTimeSeconds(clock.GetCurrentInstant().ToUnixTimeSeconds());

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
}
