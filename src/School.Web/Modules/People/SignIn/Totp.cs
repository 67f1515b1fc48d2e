using System.Buffers.Binary;
using System.Globalization;
using System.Security.Cryptography;
using NodaTime;

namespace School.Web.Modules.People.SignIn;

/// <summary>Time-based one-time passwords as RFC 6238 has them with HMAC-SHA-1 and a step of 30 seconds, which every authenticator knows.</summary>
internal static class Totp
{
    public const int Digits = 6;
    public const int StepSeconds = 30;

    public static long StepOf(Instant moment) => moment.ToUnixTimeSeconds() / StepSeconds;

    public static string Code(ReadOnlySpan<byte> secret, long step, int digits = Digits)
    {
        Span<byte> counter = stackalloc byte[sizeof(long)];
        BinaryPrimitives.WriteInt64BigEndian(counter, step);
        Span<byte> hash = stackalloc byte[HMACSHA1.HashSizeInBytes];
#pragma warning disable CA5350 // RFC 6238's default; authenticators ignore any other algorithm that is asked for.
        HMACSHA1.HashData(secret, counter, hash);
#pragma warning restore CA5350

        // Dynamic truncation, RFC 4226 section 5.3.
        var number = BinaryPrimitives.ReadInt32BigEndian(hash[(hash[^1] & 0xf)..]) & int.MaxValue;
        var modulus = (int)Math.Pow(10, digits);
        return (number % modulus).ToString(CultureInfo.InvariantCulture).PadLeft(digits, '0');
    }

    /// <summary>Base32 of RFC 4648, as the key of an authenticator is written.</summary>
    public static byte[] FromBase32(string text)
    {
        const string Alphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567";
        var bytes = new List<byte>(text.Length * 5 / 8);
        var (buffer, bits) = (0, 0);
        foreach (var letter in text.TrimEnd('='))
        {
            var value = Alphabet.IndexOf(char.ToUpperInvariant(letter), StringComparison.Ordinal);
            if (value < 0)
            {
                throw new FormatException("This is not base 32.");
            }

            buffer = ((buffer << 5) | value) & 0xfff;
            bits += 5;
            if (bits >= 8)
            {
                bits -= 8;
                bytes.Add((byte)(buffer >> bits));
            }
        }

        return [.. bytes];
    }
}
