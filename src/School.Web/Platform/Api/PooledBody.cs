using System.Buffers;

namespace School.Web.Platform.Api;

/// <summary>The body of an answer that is held back, written into lent memory.</summary>
internal sealed class PooledBody(PooledBytes to) : Stream
{
    public override bool CanRead => false;

    public override bool CanSeek => false;

    public override bool CanWrite => true;

    public override long Length => to.Length;

    public override long Position
    {
        get => to.Length;
        set => throw new NotSupportedException();
    }

    public override void Write(byte[] buffer, int offset, int count) => to.Write(buffer.AsSpan(offset, count));

    public override void Write(ReadOnlySpan<byte> buffer) => to.Write(buffer);

    public override Task WriteAsync(byte[] buffer, int offset, int count, CancellationToken cancellationToken)
    {
        to.Write(buffer.AsSpan(offset, count));
        return Task.CompletedTask;
    }

    public override ValueTask WriteAsync(ReadOnlyMemory<byte> buffer, CancellationToken cancellationToken = default)
    {
        to.Write(buffer.Span);
        return ValueTask.CompletedTask;
    }

    public override void Flush()
    {
    }

    public override Task FlushAsync(CancellationToken cancellationToken) => Task.CompletedTask;

    public override int Read(byte[] buffer, int offset, int count) => throw new NotSupportedException();

    public override long Seek(long offset, SeekOrigin origin) => throw new NotSupportedException();

    public override void SetLength(long value) => throw new NotSupportedException();
}
