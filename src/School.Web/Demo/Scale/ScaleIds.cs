using System.Buffers.Binary;
using NodaTime;

namespace School.Web.Demo.Scale;

/// <summary>
/// Ids of the rows that belong to one of the made-up people: UUIDs of version 7 of the row's own time (RFC 9562), as the service would
/// have given then, with bits worked out from whose row it is where the service draws them.
/// </summary>
/// <param name="owner">Whose rows; no other has this number.</param>
internal sealed class ScaleIds(int owner)
{
    private int _given;

    public Guid Next(Instant at)
    {
        var bits = Dice.Mix(((ulong)owner << 32) | (uint)_given++);
        Span<byte> bytes = stackalloc byte[16];
        BinaryPrimitives.WriteUInt64BigEndian(bytes, ((ulong)at.ToUnixTimeMilliseconds() << 16) | 0x7000 | (bits >> 62 << 10) | (Dice.Mix(bits) & 0x3FF));
        BinaryPrimitives.WriteUInt64BigEndian(bytes[8..], (0b10UL << 62) | (bits & (ulong.MaxValue >> 2)));
        return new(bytes, bigEndian: true);
    }
}
