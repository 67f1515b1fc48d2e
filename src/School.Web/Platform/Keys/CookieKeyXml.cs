using System.Security.Cryptography;
using System.Text;
using System.Xml.Linq;
using Microsoft.AspNetCore.DataProtection.XmlEncryption;

namespace School.Web.Platform.Keys;

/// <summary>
/// The secret part of a Data Protection key, as it stands in the database. The format of that XML is the framework's: elements marked
/// as secret stand readable, or in their place an <c>encryptedSecret</c> names the class that opens it.
/// </summary>
internal static class CookieKeyXml
{
    private const string Purpose = "School.CookieKey.v1";
    private const string Wrapped = "wrapped";
    private const string By = "by";
    private const string DecryptorType = "decryptorType";
    private static readonly XNamespace Framework = "http://schemas.asp.net/2015/03/dataProtection";
    private static readonly XName Encrypted = Framework + "encryptedSecret";
    private static readonly XName Secret = Framework + "requiresEncryption";
    private static readonly string Ours = $"{typeof(CookieKeyDecryptor).FullName}, {typeof(CookieKeyDecryptor).Assembly.GetName().Name}";

    public static XElement Wrap(XElement secret, OuterKey outer) => new(
        Wrapped, new XAttribute(By, outer.Id), Convert.ToBase64String(outer.Wrap(Encoding.UTF8.GetBytes(secret.ToString(SaveOptions.DisableFormatting)), Purpose)));

    public static XElement Unwrap(XElement wrapped, IReadOnlyList<OuterKey> keys)
    {
        var outer = keys.FirstOrDefault(k => k.Id == (string?)wrapped.Attribute(By))
            ?? throw new KeysLockedException("A cookie key is wrapped with a key that is not in this node's key file.");
        return XElement.Parse(Encoding.UTF8.GetString(outer.Unwrap(Convert.FromBase64String(wrapped.Value), Purpose)));
    }

    /// <summary>The outer key that wraps it; null where it stands readable, is wrapped in another way, or holds no secret.</summary>
    public static string? WrappedBy(XElement key) =>
        (string?)key.Descendants(Encrypted).Elements(Wrapped).Select(w => w.Attribute(By)).FirstOrDefault();

    /// <summary>Whether its secret stands readable.</summary>
    public static bool IsReadable(XElement key) => Readable(key).Any();

    /// <summary>Wraps what stands readable, or is wrapped with another key or with a certificate; the same XML when there is nothing to do.</summary>
    /// <param name="key">The whole key.</param>
    /// <param name="openers">What may have wrapped it.</param>
    /// <param name="with">What wraps it from now on.</param>
    /// <param name="certificates">Opens what a certificate wrapped; null where no certificate is known.</param>
    public static XElement WrapAnew(XElement key, IReadOnlyList<OuterKey> openers, OuterKey with, IXmlDecryptor? certificates)
    {
        var anew = new XElement(key);
        if (certificates is not null)
        {
            foreach (var old in anew.Descendants(Encrypted).Where(e => IsOpenedBy<EncryptedXmlDecryptor>(e)).ToList())
            {
                old.ReplaceWith(Enclose(Wrap(certificates.Decrypt(old.Elements().Single()), with)));
            }
        }

        foreach (var secret in Readable(anew).ToList())
        {
            var plain = secret.Name == Encrypted ? secret.Elements().Single().Elements().Single() : secret;
            secret.ReplaceWith(Enclose(Wrap(plain, with)));
        }

        foreach (var old in anew.Descendants(Wrapped).Where(w => (string?)w.Attribute(By) != with.Id).ToList())
        {
            old.ReplaceWith(Wrap(Unwrap(old, openers), with));
        }

        return anew;
    }

    private static bool IsOpenedBy<T>(XElement encrypted) =>
        ((string?)encrypted.Attribute(DecryptorType))?.StartsWith(typeof(T).FullName!, StringComparison.Ordinal) == true;

    private static XElement Enclose(XElement wrapped) => new(Encrypted, new XAttribute(DecryptorType, Ours), wrapped);

    /// <summary>Marked secrets outside an <c>encryptedSecret</c>, and those in the framework's "encryption" that encrypts nothing.</summary>
    private static IEnumerable<XElement> Readable(XElement key) =>
        key.Descendants().Where(e => e.Name == Encrypted
            ? IsOpenedBy<NullXmlDecryptor>(e)
            : (bool?)e.Attribute(Secret) == true && !e.Ancestors(Encrypted).Any());
}

/// <summary>Wraps new Data Protection keys.</summary>
internal sealed class CookieKeyEncryptor(KeyRing ring) : IXmlEncryptor
{
    public EncryptedXmlInfo Encrypt(XElement plaintextElement)
    {
        // A node whose key does not fit would make keys that no other node can open.
        var outer = ring.OuterKeys();
        return outer.Count == 0
            ? new NullXmlEncryptor().Encrypt(plaintextElement)
            : new(CookieKeyXml.Wrap(plaintextElement, outer[0]), typeof(CookieKeyDecryptor));
    }
}

/// <summary>Opens them. The framework makes it, by the name that stands in the XML.</summary>
internal sealed class CookieKeyDecryptor(IServiceProvider services) : IXmlDecryptor
{
    public XElement Decrypt(XElement encryptedElement)
    {
        try
        {
            return CookieKeyXml.Unwrap(encryptedElement, services.GetRequiredService<KeyFile>().Read());
        }
        catch (CryptographicException)
        {
            throw new KeysLockedException("A cookie key does not open with this node's key file.");
        }
    }
}
