using System.IO.Compression;

namespace School.Web.Modules.Calendars;

/// <summary>The text of a feed as an answer, packed on its way where that is wanted.</summary>
internal sealed class ToldFeed(ReadOnlyMemory<byte> text, bool gzip) : IResult
{
    public async Task ExecuteAsync(HttpContext httpContext)
    {
        var (response, cancel) = (httpContext.Response, httpContext.RequestAborted);
        response.ContentType = "text/calendar; charset=utf-8";
        if (gzip)
        {
            response.Headers.ContentEncoding = "gzip";
        }
        else
        {
            response.ContentLength = text.Length;
        }

        if (HttpMethods.IsHead(httpContext.Request.Method))
        {
            return;
        }

        if (!gzip)
        {
            await response.BodyWriter.WriteAsync(text, cancel);
            return;
        }

        await using var packed = new GZipStream(response.Body, CompressionLevel.Fastest, leaveOpen: true);
        await packed.WriteAsync(text, cancel);
    }
}
