using System.Buffers.Binary;

namespace School.Web.Platform.Database;

/// <summary>
/// New ids: UUIDs of version 7 that rise within this process, also within one millisecond, so that what was written later sorts
/// later. A counter stands in the twelve bits after the version, begun at random in each millisecond (RFC 9562, section 6.2,
/// method 1); where it runs over, the time runs ahead a little, as the section allows. Other nodes agree by their clocks only.
/// </summary>
internal static class RowId
{
    private const int CounterBits = 12;
    private const long Counter = (1 << CounterBits) - 1;

    // Half of the counter is left to count in.
    private const long Seed = Counter >> 1;

    private static long _last;

    public static Guid New()
    {
        Span<byte> bytes = stackalloc byte[16];
#pragma warning disable RS0030 // the one place that draws time and randomness
        Guid.CreateVersion7().TryWriteBytes(bytes, bigEndian: true, out _);
#pragma warning restore RS0030
        var drawn = BinaryPrimitives.ReadInt64BigEndian(bytes);
        var place = Next(((drawn >> 16) << CounterBits) | (drawn & Seed));
        BinaryPrimitives.WriteInt64BigEndian(bytes, ((place >> CounterBits) << 16) | 0x7000 | (place & Counter));
        return new(bytes, bigEndian: true);
    }

    /// <summary>The drawn place when its millisecond is new, else the one after the last.</summary>
    private static long Next(long drawn)
    {
        while (true)
        {
            var last = Volatile.Read(ref _last);
            var next = drawn >> CounterBits > last >> CounterBits ? drawn : last + 1;
            if (Interlocked.CompareExchange(ref _last, next, last) == last)
            {
                return next;
            }
        }
    }
}
