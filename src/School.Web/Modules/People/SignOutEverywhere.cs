using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.People.SignIn;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People;

/// <summary>Ends every session and token of a person, at once and at every node.</summary>
internal sealed class SignOutEverywhere(SchoolDb db, UserManager<Person> people, Audit audit, IClock clock, ILogger<SignOutEverywhere> logger)
{
    public async Task<Outcome<Viewer>> RunAsync(Viewer viewer, CancellationToken cancel)
    {
        var ended = await db.InTransactionAsync<Viewer>(
            async cancel =>
            {
                var person = await db.Set<Person>().SingleAsync(p => p.Id == viewer.PersonId, cancel);
                if ((await people.UpdateSecurityStampAsync(person)).ToRefusal("") is { } refusal)
                {
                    return refusal;
                }

                var now = clock.GetCurrentInstant();
                await db.Set<Session>().Where(s => s.PersonId == viewer.PersonId && s.EndedAt == null)
                    .ExecuteUpdateAsync(set => set.SetProperty(s => s.EndedAt, now), cancel);
                await db.Set<ApiToken>().Where(t => t.PersonId == viewer.PersonId && t.RevokedAt == null)
                    .ExecuteUpdateAsync(set => set.SetProperty(t => t.RevokedAt, now), cancel);
                audit.Note(viewer, "sign-in.end-all", viewer.PersonId, "Signed out everywhere; every token ended too.");
                return viewer;
            },
            cancel);
        if (ended.Ok)
        {
            SignInLog.EndedAll(logger, viewer.PersonId);
        }

        return ended;
    }
}
