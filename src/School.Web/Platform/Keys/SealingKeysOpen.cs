using System.Security.Cryptography;
using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Database;
using School.Web.Platform.Operations;

namespace School.Web.Platform.Keys;

/// <summary>Without these, what is sealed cannot be read by anybody any more.</summary>
internal sealed class SealingKeysOpen(KeyFile file) : IInvariant
{
    public string Code => "sealing_keys_open";

    public string Sentence => "every key of guarded columns is wrapped, or no key file is set, and can be unwrapped here";

    public async Task<Finding> LookAsync(SchoolDb db, CancellationToken cancel)
    {
        var keys = Keys();
        var rows = await db.Set<SealingKey>().AsNoTracking().OrderBy(k => k.Id).ToListAsync(cancel);
        return new(rows.Count, [.. rows.Where(row => !Opens(row, keys)).Select(row => $"key {row.Id}")]);
    }

    private IReadOnlyList<OuterKey> Keys()
    {
        try
        {
            return file.Read();
        }
        catch (KeysLockedException)
        {
            return [];
        }
    }

    private static bool Opens(SealingKey row, IReadOnlyList<OuterKey> keys)
    {
        if (row.WrappedBy is null)
        {
            return keys.Count == 0;
        }

        try
        {
            return keys.Any(k => k.Id == row.WrappedBy) && new SealingRow(row.Id, row.WrappedBy, row.Key).Open(keys).Length == AesBox.KeyOctets;
        }
        catch (CryptographicException)
        {
            return false;
        }
    }
}
