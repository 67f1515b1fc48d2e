using System.Security.Cryptography;
using System.Text;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.People;

/// <summary>Issues, finds and revokes bearer tokens. The token itself is told once and kept nowhere.</summary>
internal sealed class ApiTokens(SchoolDb db, Audit audit, IClock clock)
{
    public static readonly Duration Lifetime = Duration.FromDays(30);
    private static readonly Duration UseNoted = Duration.FromMinutes(5);

    public async Task<(string Token, ApiToken Row)> IssueAsync(Person person, CancellationToken cancel)
    {
        var token = Convert.ToHexStringLower(RandomNumberGenerator.GetBytes(32));
        var now = clock.GetCurrentInstant();
        var row = new ApiToken
        {
            PersonId = person.Id,
            Hash = HashOf(token),
            CreatedAt = now,
            ExpiresAt = now + Lifetime,
            SecurityStamp = person.SecurityStamp!,
        };
        db.Add(row);
        audit.Note(new(person.Id, person.Role, person.InstructorId, person.PupilId, person.Name), "token.make", row.Id, "Made an API token.");
        await db.SaveChangesAsync(cancel);
        return (token, row);
    }

    /// <summary>The person whose living token this is, or null.</summary>
    public async Task<Person?> PersonOfAsync(string token, CancellationToken cancel)
    {
        var hash = HashOf(token);
        var now = clock.GetCurrentInstant();
        var found = await (
            from row in db.Set<ApiToken>().AsNoTracking()
            join person in db.Set<Person>().AsNoTracking() on row.PersonId equals person.Id
            where row.Hash == hash && row.RevokedAt == null && row.ExpiresAt > now && !person.Closed && row.SecurityStamp == person.SecurityStamp
            select new { row.Id, row.LastUsedAt, person }).SingleOrDefaultAsync(cancel);
        if (found is null)
        {
            return null;
        }

        if (found.LastUsedAt is null || now - found.LastUsedAt > UseNoted)
        {
            await db.Set<ApiToken>().Where(t => t.Id == found.Id).ExecuteUpdateAsync(set => set.SetProperty(t => t.LastUsedAt, now), cancel);
        }

        return found.person;
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

    /// <summary>Ends one of a person's own tokens; false when it is not theirs or not there.</summary>
    public async Task<bool> RevokeAsync(Viewer viewer, Guid id, CancellationToken cancel)
    {
        if (await db.Set<ApiToken>().SingleOrDefaultAsync(t => t.Id == id && t.PersonId == viewer.PersonId, cancel) is not { } row)
        {
            return false;
        }

        if (row.RevokedAt is null)
        {
            row.RevokedAt = clock.GetCurrentInstant();
            audit.Note(viewer, "token.revoke", id, "Ended an API token.");
            await db.SaveChangesAsync(cancel);
        }

        return true;
    }

    private static byte[] HashOf(string token) => SHA256.HashData(Encoding.UTF8.GetBytes(token));
}
