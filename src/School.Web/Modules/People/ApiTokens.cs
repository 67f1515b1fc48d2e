using System.Security.Cryptography;
using System.Text;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Platform.Database;

namespace School.Web.Modules.People;

internal sealed record FoundToken(TokenScope Scope, Person Person);

/// <summary>Finds bearer tokens. The token itself is told once and kept nowhere.</summary>
internal sealed class ApiTokens(SchoolDb db, IClock clock)
{
    private static readonly Duration UseNoted = Duration.FromMinutes(5);

    public static byte[] HashOf(string token) => SHA256.HashData(Encoding.UTF8.GetBytes(token));

    /// <summary>The living token and whose it is, or null.</summary>
    public async Task<FoundToken?> FindAsync(string token, CancellationToken cancel)
    {
        var hash = HashOf(token);
        var now = clock.GetCurrentInstant();
        var found = await (
            from row in db.Set<ApiToken>().AsNoTracking()
            join person in db.Set<Person>().AsNoTracking() on row.PersonId equals person.Id
            where row.Hash == hash && row.RevokedAt == null && row.ExpiresAt > now && !person.Closed && row.SecurityStamp == person.SecurityStamp
            select new { row.Id, row.Scope, row.LastUsedAt, person }).SingleOrDefaultAsync(cancel);
        if (found is null)
        {
            return null;
        }

        if (found.LastUsedAt is null || now - found.LastUsedAt > UseNoted)
        {
            await db.AloneAsync(() => db.Set<ApiToken>().Where(t => t.Id == found.Id).ExecuteUpdateAsync(set => set.SetProperty(t => t.LastUsedAt, now), cancel), cancel);
        }

        return new(found.Scope, found.person);
    }

    /// <summary>A person's tokens that still open anything.</summary>
    public IQueryable<ApiToken> Living(Guid personId)
    {
        var now = clock.GetCurrentInstant();
        return
            from row in db.Set<ApiToken>().AsNoTracking()
            join person in db.Set<Person>() on row.PersonId equals person.Id
            where row.PersonId == personId && row.RevokedAt == null && row.ExpiresAt > now && row.SecurityStamp == person.SecurityStamp
            select row;
    }
}
