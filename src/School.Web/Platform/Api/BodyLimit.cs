using Microsoft.AspNetCore.Diagnostics;
using Microsoft.AspNetCore.Http.Features;
using Microsoft.Extensions.Options;

namespace School.Web.Platform.Api;

/// <summary>
/// Refuses bodies that are too large, whether they say so or turn out so, in every host alike. The server's own limit would
/// break the connection while the client still sends; this one lets it read the answer.
/// </summary>
internal static class BodyLimit
{
    public const long Largest = 1 << 20;

    public static IApplicationBuilder UseBodyLimit(this IApplicationBuilder app) => app.UseBodyLimit(app.ApplicationServices.GetRequiredService<IOptions<LargeBodies>>().Value);

    private static IApplicationBuilder UseBodyLimit(this IApplicationBuilder app, LargeBodies large) => app.Use((context, next) =>
    {
        if (context.Features.Get<IHttpMaxRequestBodySizeFeature>() is { IsReadOnly: false } server)
        {
            server.MaxRequestBodySize = null;
        }

        if (context.Features.Get<IExceptionHandlerFeature>() is not null)
        {
            // The page that tells it asks nothing of the body.
            (context.Request.Body, context.Request.ContentType) = (Stream.Null, null);
            return next(context);
        }

        var own = large.LimitOf(context.Request);
        if (context.Request.ContentLength > (own ?? Largest))
        {
            throw TooLarge();
        }

        context.Request.Body = new Counted(context.Request.Body, own ?? Largest);
        if (context.IsApi() && own is null)
        {
            // In memory as a whole: what could not be read is looked at again, to say what was wrong.
            context.Request.EnableBuffering(bufferThreshold: (int)Largest);
        }

        return next(context);
    });

    private static BadHttpRequestException TooLarge() => new("The body is too large.", StatusCodes.Status413PayloadTooLarge);

    private sealed class Counted(Stream inner, long most) : Stream
    {
        private long _read;

        public override bool CanRead => true;

        public override bool CanSeek => false;

        public override bool CanWrite => false;

        public override long Length => throw new NotSupportedException();

        public override long Position
        {
            get => throw new NotSupportedException();
            set => throw new NotSupportedException();
        }

        public override int Read(byte[] buffer, int offset, int count) => Count(inner.Read(buffer, offset, count));

        public override async ValueTask<int> ReadAsync(Memory<byte> buffer, CancellationToken cancellationToken = default) =>
            Count(await inner.ReadAsync(buffer, cancellationToken));

        public override Task<int> ReadAsync(byte[] buffer, int offset, int count, CancellationToken cancellationToken) =>
            ReadAsync(buffer.AsMemory(offset, count), cancellationToken).AsTask();

        public override void Flush()
        {
        }

        public override long Seek(long offset, SeekOrigin origin) => throw new NotSupportedException();

        public override void SetLength(long value) => throw new NotSupportedException();

        public override void Write(byte[] buffer, int offset, int count) => throw new NotSupportedException();

        private int Count(int read) => (_read += read) <= most ? read : throw TooLarge();
    }
}
