using System.Buffers.Text;
using System.Security.Cryptography;
using System.Text;

namespace School.Web.Modules.Calendars;

/// <summary>The part of a feed's address that is nobody's to guess: 256 random bits, told once and kept as a hash.</summary>
internal static class FeedSecret
{
    private const int Octets = 32;

    public static string New() => Base64Url.EncodeToString(RandomNumberGenerator.GetBytes(Octets));

    public static byte[] HashOf(string secret) => SHA256.HashData(Encoding.UTF8.GetBytes(secret));
}
