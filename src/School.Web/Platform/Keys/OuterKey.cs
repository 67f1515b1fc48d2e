using System.Security.Cryptography;

namespace School.Web.Platform.Keys;

/// <summary>The key outside the database, which wraps those in it. Its id says which one it is and nothing about what it is.</summary>
internal sealed class OuterKey
{
    private const int IdOctets = 6;
    private readonly AesBox box;

    public OuterKey(byte[] key)
    {
        box = new(key);
        Id = Convert.ToHexStringLower(SHA256.HashData([.. "School outer key id"u8, .. key]))[..(2 * IdOctets)];
    }

    public string Id { get; }

    public byte[] Wrap(ReadOnlySpan<byte> key, string purpose) => box.Close(key, purpose);

    /// <exception cref="CryptographicException">It is not wrapped with this key.</exception>
    public byte[] Unwrap(ReadOnlySpan<byte> wrapped, string purpose) => box.Open(wrapped, purpose);
}
