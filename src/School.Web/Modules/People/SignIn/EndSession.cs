using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People.SignIn;

/// <summary>Ends one of a person's own sessions: signing out, or from another browser.</summary>
internal sealed class EndSession(SchoolDb db, Audit audit, IClock clock, ILogger<EndSession> logger)
{
    public async Task<Outcome<Session>> RunAsync(Viewer viewer, Guid id, CancellationToken cancel)
    {
        var ended = await db.InTransactionAsync<Session>(
            async cancel =>
            {
                if (await db.Set<Session>().SingleOrDefaultAsync(s => s.Id == id && s.PersonId == viewer.PersonId, cancel) is not { } session)
                {
                    return Refusal.NotFound("session");
                }

                if (session.EndedAt is null)
                {
                    session.EndedAt = clock.GetCurrentInstant();
                    audit.Note(viewer, "sign-in.end", viewer.PersonId, $"Signed out ({session.Device}).");
                }

                return session;
            },
            cancel);
        if (ended.Ok)
        {
            SignInLog.Ended(logger, viewer.PersonId, id);
        }

        return ended;
    }
}

/// <summary>Ends every session of a person but the one that asks; tokens of programs stay.</summary>
internal sealed class EndOtherSessions(SchoolDb db, Audit audit, IClock clock)
{
    public Task<Outcome<Viewer>> RunAsync(Viewer viewer, CancellationToken cancel) => db.InTransactionAsync<Viewer>(
        async cancel =>
        {
            var now = clock.GetCurrentInstant();
            await db.Set<Session>().Where(s => s.PersonId == viewer.PersonId && s.Id != viewer.SessionId && s.EndedAt == null)
                .ExecuteUpdateAsync(set => set.SetProperty(s => s.EndedAt, now), cancel);
            audit.Note(viewer, "sign-in.end-others", viewer.PersonId, "Signed out on every other browser.");
            return viewer;
        },
        cancel);
}
