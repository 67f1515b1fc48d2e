using System.Buffers.Text;
using System.Security.Cryptography;
using System.Text;
using Microsoft.AspNetCore.DataProtection;
using Microsoft.AspNetCore.WebUtilities;
using School.Web.Platform.Keys;

namespace School.Web.Platform.Security;

/// <summary>
/// Encrypts the columns that hold driver numbers, health notes and secrets of the second step, with keys of their own. What an
/// older version sealed with the keys of cookies still opens, also after those were revoked.
/// </summary>
internal sealed class Sealer(KeyRing ring, IDataProtectionProvider protection)
{
    private const string Mark = "s2:";
    private const string Purpose = "School.GuardedColumns.v2";
    private const int IdOctets = 16;
    private readonly IDataProtector older = protection.CreateProtector("School.GuardedColumns.v1");

    public string? Seal(string? text)
    {
        if (string.IsNullOrEmpty(text))
        {
            return null;
        }

        var (id, box) = ring.Newest();
        return Mark + Base64Url.EncodeToString([.. id.ToByteArray(), .. box.Close(Encoding.UTF8.GetBytes(text), Purpose)]);
    }

    /// <exception cref="CryptographicException">No key of ours opens it, or it was changed.</exception>
    public string? Open(string? cipher)
    {
        if (string.IsNullOrEmpty(cipher))
        {
            return null;
        }

        if (!cipher.StartsWith(Mark, StringComparison.Ordinal))
        {
            return OpenOlder(cipher);
        }

        var octets = Octets(cipher);
        var box = ring.Find(new(octets.AsSpan(0, IdOctets))) ?? throw new CryptographicException("The key that sealed this is not in the database.");
        return Encoding.UTF8.GetString(box.Open(octets.AsSpan(IdOctets), Purpose));
    }

    /// <summary>Whether it can be decrypted with the keys that there are.</summary>
    public bool Opens(string? cipher)
    {
        try
        {
            Open(cipher);
            return true;
        }
        catch (Exception shut) when (shut is CryptographicException or KeysLockedException)
        {
            return false;
        }
    }

    /// <summary>Whether it is sealed with the key that seals now.</summary>
    public bool IsPresent(string cipher) =>
        cipher.StartsWith(Mark, StringComparison.Ordinal) && new Guid(Octets(cipher).AsSpan(0, IdOctets)) == ring.Newest().Id;

    private static byte[] Octets(string cipher)
    {
        try
        {
            var octets = Base64Url.DecodeFromChars(cipher.AsSpan(Mark.Length));
            return octets.Length > IdOctets ? octets : throw new CryptographicException("Too short to be sealed.");
        }
        catch (FormatException)
        {
            throw new CryptographicException("Not sealed text.");
        }
    }

    private string OpenOlder(string cipher)
    {
        try
        {
            return older is IPersistedDataProtector persisted
                ? Encoding.UTF8.GetString(persisted.DangerousUnprotect(WebEncoders.Base64UrlDecode(cipher), ignoreRevocationErrors: true, out _, out _))
                : older.Unprotect(cipher);
        }
        catch (FormatException)
        {
            throw new CryptographicException("Not sealed text.");
        }
    }
}
