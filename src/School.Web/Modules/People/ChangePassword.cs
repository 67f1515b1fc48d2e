using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using School.Web.Modules.People.SignIn;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People;

internal sealed record NewPassword(string? Present, string? Password);

/// <summary>Changes a password for somebody who knows the present one; every other session and token ends.</summary>
internal sealed class ChangePassword(SchoolDb db, UserManager<Person> people, CheckPresentPassword check, Sessions sessions, Audit audit, ILogger<ChangePassword> logger)
{
    public async Task<Outcome<Viewer>> RunAsync(Viewer viewer, NewPassword wish, CancellationToken cancel)
    {
        if (await check.RunAsync(viewer, wish.Present, cancel) is { } refusal)
        {
            return refusal;
        }

        var changed = await db.InTransactionAsync<Viewer>(
            async cancel =>
            {
                var person = await db.Set<Person>().SingleAsync(p => p.Id == viewer.PersonId, cancel);
                if ((await people.ChangePasswordAsync(person, wish.Present ?? "", wish.Password ?? "")).ToRefusal("Password") is { } wrong)
                {
                    return wrong;
                }

                await sessions.KeepAsync(viewer, person, cancel);
                audit.Note(viewer, "password.change", viewer.PersonId, "Changed the password.");
                return viewer;
            },
            cancel);
        if (changed.Ok)
        {
            SignInLog.Changed(logger, viewer.PersonId, "password changed");
        }

        return changed;
    }
}
