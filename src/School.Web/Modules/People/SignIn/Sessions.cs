using System.Security.Cryptography;
using System.Text;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.People.SignIn;

/// <summary>Somebody's living session, with the person as they are now.</summary>
internal sealed record FoundSession(Guid Id, Instant? ProvedAt, Person Person);

/// <summary>What a cookie opens, as one row.</summary>
internal sealed record LivingSession(Guid Id, Instant? ProvedAt, Instant LastUsedAt, Person Person);

/// <summary>The question that every page asks first, translated once for the life of the process: that is a third of what it costs.</summary>
internal sealed class SessionQuery
{
    private readonly Func<SchoolDb, byte[], Instant, CancellationToken, Task<LivingSession?>> _ask = EF.CompileAsyncQuery((SchoolDb db, byte[] hash, Instant now, CancellationToken _) => (
        from session in db.Set<Session>().AsNoTracking()
        join person in db.Set<Person>().AsNoTracking() on session.PersonId equals person.Id
        where session.Hash == hash && session.EndedAt == null && session.EndsAt > now && !person.Closed && session.SecurityStamp == person.SecurityStamp
        select new LivingSession(session.Id, session.ProvedAt, session.LastUsedAt, person)).SingleOrDefault());

    public Task<LivingSession?> FindAsync(SchoolDb db, byte[] hash, Instant now, CancellationToken cancel) => _ask(db, hash, now, cancel);
}

/// <summary>Finds sessions. Each request asks, by one index, so that what ended is over at once and at every node.</summary>
internal sealed class Sessions(SchoolDb db, SessionQuery living, IClock clock)
{
    private static readonly Duration UseNoted = Duration.FromMinutes(5);

    public static byte[] HashOf(string secret) => SHA256.HashData(Encoding.UTF8.GetBytes(secret));

    /// <summary>The session whose cookie this is; null when there is none any more.</summary>
    public async Task<FoundSession?> FindAsync(string secret, CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        var found = await living.FindAsync(db, HashOf(secret), now, cancel);
        if (found is null)
        {
            return null;
        }

        if (now - found.LastUsedAt > UseNoted)
        {
            await db.AloneAsync(() => db.Set<Session>().Where(s => s.Id == found.Id).ExecuteUpdateAsync(set => set.SetProperty(s => s.LastUsedAt, now), cancel), cancel);
        }

        return new(found.Id, found.ProvedAt, found.Person);
    }

    /// <summary>Whose session this was, over or not; null where it is kept no longer or they may not sign in any more.</summary>
    public Task<Person?> WhoseWasAsync(string secret, CancellationToken cancel)
    {
        var hash = HashOf(secret);
        return (
            from session in db.Set<Session>().AsNoTracking()
            join person in db.Set<Person>().AsNoTracking() on session.PersonId equals person.Id
            where session.Hash == hash && !person.Closed
            select person).SingleOrDefaultAsync(cancel);
    }

    /// <summary>A person's sessions that still open anything.</summary>
    public IQueryable<Session> Living(Guid personId)
    {
        var now = clock.GetCurrentInstant();
        return
            from session in db.Set<Session>().AsNoTracking()
            join person in db.Set<Person>() on session.PersonId equals person.Id
            where session.PersonId == personId && session.EndedAt == null && session.EndsAt > now && session.SecurityStamp == person.SecurityStamp
            select session;
    }

    /// <summary>Keeps the viewer's own browser signed in under a new stamp; every other one has ended with the old.</summary>
    public Task KeepAsync(Viewer viewer, Person person, CancellationToken cancel) =>
        Own(viewer).ExecuteUpdateAsync(set => set.SetProperty(s => s.SecurityStamp, person.SecurityStamp), cancel);

    /// <summary>Notes that the password was given again just now.</summary>
    public Task NoteProofAsync(Viewer viewer, CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        return Own(viewer).ExecuteUpdateAsync(set => set.SetProperty(s => s.ProvedAt, now), cancel);
    }

    /// <summary>Whether the password was given again here a short while ago.</summary>
    public Task<bool> ProvedAsync(Viewer viewer, Duration within, CancellationToken cancel)
    {
        var since = clock.GetCurrentInstant() - within;
        return Own(viewer).AnyAsync(s => s.ProvedAt >= since, cancel);
    }

    private IQueryable<Session> Own(Viewer viewer) => db.Set<Session>().Where(s => s.Id == viewer.SessionId && s.PersonId == viewer.PersonId);
}
