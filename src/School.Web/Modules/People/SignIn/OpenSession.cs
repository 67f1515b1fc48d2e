using System.Security.Cryptography;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People.SignIn;

/// <param name="Stamp">The security stamp under which the person showed who they are.</param>
/// <param name="How">What they showed, such as "a password and a code".</param>
/// <param name="Device">Words for their browser.</param>
/// <param name="Replaces">The session that this browser held before; it ends.</param>
internal sealed record SessionWish(string Stamp, string How, string Device, Guid? Replaces);

internal sealed record OpenedSession(Guid Id, string Secret);

/// <summary>Opens a session for somebody who has shown who they are. What its cookie will hold is told once and kept nowhere.</summary>
internal sealed class OpenSession(SchoolDb db, Audit audit, IClock clock, ILogger<OpenSession> logger)
{
    public static readonly Duration Longest = Duration.FromDays(14);
    public static readonly Duration LongestForStaff = Duration.FromDays(1);

    public static Duration LongestFor(Viewer viewer) => viewer.IsStaff ? LongestForStaff : Longest;

    public async Task<Outcome<OpenedSession>> RunAsync(Viewer viewer, SessionWish wish, CancellationToken cancel)
    {
        var secret = Convert.ToHexStringLower(RandomNumberGenerator.GetBytes(32));
        var opened = await db.InTransactionAsync<OpenedSession>(
            async cancel =>
            {
                var now = clock.GetCurrentInstant();
                var session = new Session
                {
                    PersonId = viewer.PersonId,
                    Hash = Sessions.HashOf(secret),
                    Device = wish.Device,
                    StartedAt = now,
                    EndsAt = now + LongestFor(viewer),
                    LastUsedAt = now,
                    SecurityStamp = wish.Stamp,
                };
                db.Add(session);
                await db.Set<Session>().Where(s => s.Id == wish.Replaces && s.EndedAt == null).ExecuteUpdateAsync(set => set.SetProperty(s => s.EndedAt, now), cancel);
                await db.Set<Person>().Where(p => p.Id == viewer.PersonId).ExecuteUpdateAsync(set => set.SetProperty(p => p.LastSignIn, now), cancel);
                audit.Note(viewer, "sign-in.open", viewer.PersonId, $"Signed in with {wish.How} ({wish.Device}).");
                return new OpenedSession(session.Id, secret);
            },
            cancel);
        if (opened.Ok)
        {
            SignInLog.Opened(logger, viewer.PersonId, wish.How, opened.Value.Id);
        }

        return opened;
    }
}
