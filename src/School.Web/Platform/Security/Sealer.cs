using System.Security.Cryptography;
using Microsoft.AspNetCore.DataProtection;

namespace School.Web.Platform.Security;

/// <summary>Encrypts the columns that hold driver numbers and health notes; keys are the service's own Data Protection keys.</summary>
internal sealed class Sealer(IDataProtectionProvider protection)
{
    private readonly IDataProtector _protector = protection.CreateProtector("School.GuardedColumns.v1");

    public string? Seal(string? text) => string.IsNullOrEmpty(text) ? null : _protector.Protect(text);

    public string? Open(string? cipher) => string.IsNullOrEmpty(cipher) ? null : _protector.Unprotect(cipher);

    /// <summary>Whether it can be decrypted with the keys that there are.</summary>
    public bool Opens(string? cipher)
    {
        try
        {
            Open(cipher);
            return true;
        }
        catch (CryptographicException)
        {
            return false;
        }
    }
}
