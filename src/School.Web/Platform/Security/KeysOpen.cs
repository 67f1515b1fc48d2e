using Microsoft.AspNetCore.DataProtection.KeyManagement;
using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Database;
using School.Web.Platform.Operations;

namespace School.Web.Platform.Security;

/// <summary>A key that cannot be unwrapped is left out in silence by those who use it, and what it sealed cannot be read.</summary>
internal sealed class KeysOpen(IKeyManager keys) : IInvariant
{
    private const string NameOfKey = "key-";

    public string Code => "keys_open";

    public string Sentence => "every key behind sign-ins and guarded columns can be unwrapped here";

    public async Task<Finding> LookAsync(SchoolDb db, CancellationToken cancel)
    {
        var opened = keys.GetAllKeys().Where(Opens).Select(key => $"{NameOfKey}{key.KeyId}").ToHashSet(StringComparer.Ordinal);
        var kept = await db.DataProtectionKeys.AsNoTracking()
            .Where(row => row.FriendlyName!.StartsWith(NameOfKey)).Select(row => row.FriendlyName!).ToListAsync(cancel);
        return new(kept.Count, [.. kept.Where(name => !opened.Contains(name)).Order(StringComparer.Ordinal)]);
    }

    private static bool Opens(IKey key)
    {
        try
        {
            return key.CreateEncryptor() is not null;
        }
        // Whatever the reason, it differs by how keys are wrapped, and the answer is the same.
        catch (Exception)
        {
            return false;
        }
    }
}
