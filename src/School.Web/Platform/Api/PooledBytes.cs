using System.Buffers;

namespace School.Web.Platform.Api;

/// <summary>An answer while it is written, in memory that is lent and given back, so that large ones are not made anew each time.</summary>
internal sealed class PooledBytes : IBufferWriter<byte>, IDisposable
{
    private const int AtFirst = 16 * 1024;
    private byte[] _lent = ArrayPool<byte>.Shared.Rent(AtFirst);

    public int Length { get; private set; }

    public ReadOnlyMemory<byte> Written => _lent.AsMemory(0, Length);

    public void Advance(int count)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(count);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(count, _lent.Length - Length);
        Length += count;
    }

    public Memory<byte> GetMemory(int sizeHint = 0)
    {
        var wanted = Math.Max(1, sizeHint);
        if (_lent.Length - Length < wanted)
        {
            var larger = ArrayPool<byte>.Shared.Rent(Math.Max(2 * _lent.Length, checked(Length + wanted)));
            Written.CopyTo(larger);
            GiveBack();
            _lent = larger;
        }

        return _lent.AsMemory(Length);
    }

    public Span<byte> GetSpan(int sizeHint = 0) => GetMemory(sizeHint).Span;

    public void Dispose()
    {
        GiveBack();
        (_lent, Length) = ([], 0);
    }

    private void GiveBack()
    {
        // Names and places stood in it.
        _lent.AsSpan(0, Length).Clear();
        if (_lent.Length > 0)
        {
            ArrayPool<byte>.Shared.Return(_lent);
        }
    }
}
