using System.Security.Cryptography;
using System.Text;

namespace School.Web.Platform.Keys;

/// <summary>
/// AES-256 in Galois/Counter Mode (NIST SP 800-38D): nonce, tag and ciphertext in one piece. The nonce is random: fine for far
/// more boxes (2^32, section 8.3) than a school ever makes. The purpose is authenticated, so that a box opens only where it belongs.
/// </summary>
internal sealed class AesBox(byte[] key)
{
    public const int KeyOctets = 32;
    private const int NonceOctets = 12;
    private const int TagOctets = 16;

    public byte[] Close(ReadOnlySpan<byte> plain, string purpose)
    {
        var box = new byte[NonceOctets + TagOctets + plain.Length];
        var nonce = box.AsSpan(0, NonceOctets);
        RandomNumberGenerator.Fill(nonce);
        using var aes = new AesGcm(key, TagOctets);
        aes.Encrypt(nonce, plain, box.AsSpan(NonceOctets + TagOctets), box.AsSpan(NonceOctets, TagOctets), Encoding.UTF8.GetBytes(purpose));
        return box;
    }

    /// <summary>Octets that only whoever has the key can work out, and always the same for a purpose (HKDF, RFC 5869).</summary>
    public byte[] Derive(int octets, string purpose) => HKDF.DeriveKey(HashAlgorithmName.SHA256, key, octets, info: Encoding.UTF8.GetBytes(purpose));

    /// <exception cref="CryptographicException">It was closed with another key or for another purpose, or it was changed.</exception>
    public byte[] Open(ReadOnlySpan<byte> box, string purpose)
    {
        if (box.Length < NonceOctets + TagOctets)
        {
            throw new CryptographicException("Too short to be a box.");
        }

        var plain = new byte[box.Length - NonceOctets - TagOctets];
        using var aes = new AesGcm(key, TagOctets);
        aes.Decrypt(box[..NonceOctets], box[(NonceOctets + TagOctets)..], box.Slice(NonceOctets, TagOctets), plain, Encoding.UTF8.GetBytes(purpose));
        return plain;
    }
}
