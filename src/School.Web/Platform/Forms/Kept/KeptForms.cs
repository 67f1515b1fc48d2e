using System.Security.Cryptography;
using System.Text.Json;
using Hangfire;
using Microsoft.AspNetCore.DataProtection;
using Microsoft.AspNetCore.WebUtilities;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Primitives;
using NodaTime;
using School.Web.Platform.Database;

namespace School.Web.Platform.Forms.Kept;

/// <summary>Forms of people whose session had ended: encrypted, for an hour, and given back to nobody but who filled them in. Nothing carries one out.</summary>
internal sealed class KeptForms(SchoolDb db, IDataProtectionProvider protection, IClock clock)
{
    public const string Job = "forget-kept-forms";

    /// <summary>Names the kept form in the address of its page.</summary>
    public const string Query = "kept";

    /// <summary>Of one person: the latest ones.</summary>
    public const int Most = 5;

    /// <summary>In octets, as kept. The longest form that people fill in by hand takes a tenth of it.</summary>
    public const int Longest = 64 * 1024;

    public static readonly Duration For = Duration.FromHours(1);

    // What is typed anew each time is written down nowhere, and the form's own token is of no use any more.
    private static readonly string[] NotKept = ["password", "code", "token"];

    /// <summary>Keeps a form; null where it is of a sort that is not kept.</summary>
    public async Task<string?> KeepAsync(Guid personId, string path, string query, IFormCollection form, CancellationToken cancel)
    {
        var fields = form.Where(field => !NotKept.Any(word => field.Key.EndsWith(word, StringComparison.OrdinalIgnoreCase)))
            .ToDictionary(field => field.Key, field => field.Value.ToArray(), StringComparer.Ordinal);
        var octets = JsonSerializer.SerializeToUtf8Bytes(fields);
        var asked = QueryHelpers.ParseQuery(query);
        asked.Remove(Query);
        // Which button was pressed is for its sender to press again.
        asked.Remove("handler");
        var address = QueryHelpers.AddQueryString(path, asked);
        if (fields.Count == 0 || form.Files.Count > 0 || octets.Length > Longest || address.Length > 2000)
        {
            return null;
        }

        var (id, now) = (RowId.New(), clock.GetCurrentInstant());
        var kept = Protector.Protect(octets);
        await db.AloneAsync(
            () => db.Database.ExecuteSqlAsync(
                $"""
                 WITH gone AS (
                     DELETE FROM platform.kept_forms WHERE id IN (SELECT id FROM platform.kept_forms WHERE person_id = {personId} ORDER BY kept_at DESC, id DESC OFFSET {Most - 1}))
                 INSERT INTO platform.kept_forms (id, person_id, address, fields, kept_at) VALUES ({id}, {personId}, {address}, {kept}, {now})
                 """, cancel),
            cancel);
        return QueryHelpers.AddQueryString(address, Query, id.ToString());
    }

    /// <summary>What was typed into the page at this address; null where it is somebody else's, of another page, or its hour is over.</summary>
    public async Task<IFormCollection?> FindAsync(Guid personId, Guid id, PathString path, CancellationToken cancel)
    {
        var since = clock.GetCurrentInstant() - For;
        var kept = await db.Set<KeptForm>().AsNoTracking().SingleOrDefaultAsync(f => f.Id == id && f.PersonId == personId && f.KeptAt > since, cancel);
        if (kept is null || !path.Equals(new PathString(kept.Address.Split('?')[0]), StringComparison.OrdinalIgnoreCase))
        {
            return null;
        }

        try
        {
            var fields = JsonSerializer.Deserialize<Dictionary<string, string?[]>>(Protector.Unprotect(kept.Fields))!;
            return new FormCollection(fields.ToDictionary(field => field.Key, field => new StringValues(field.Value), StringComparer.OrdinalIgnoreCase));
        }
        catch (CryptographicException)
        {
            // Changed by somebody, or kept under keys that are gone.
            return null;
        }
    }

    /// <summary>Once it was sent again nobody needs it.</summary>
    public Task ForgetAsync(Guid personId, Guid id, CancellationToken cancel) =>
        db.AloneAsync(() => db.Set<KeptForm>().Where(f => f.Id == id && f.PersonId == personId).ExecuteDeleteAsync(cancel), cancel);

    [AutomaticRetry(Attempts = 0, OnAttemptsExceeded = AttemptsExceededAction.Delete)]
    public Task ForgetOldAsync(CancellationToken cancel)
    {
        var since = clock.GetCurrentInstant() - For;
        return db.AloneAsync(() => db.Set<KeptForm>().Where(f => f.KeptAt <= since).ExecuteDeleteAsync(cancel), cancel);
    }

    private IDataProtector Protector => protection.CreateProtector("School.KeptForms.v1");
}
