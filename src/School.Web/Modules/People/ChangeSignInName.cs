using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using School.Core.People;
using School.Web.Modules.People.SignIn;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People;

/// <summary>The name that somebody would sign in with, and the password that they have.</summary>
internal sealed record NewSignInName(string? Present, string? Name);

/// <summary>
/// Changes the name by which somebody signs in: to their own address where it is nobody else's, or to one that they choose. Whether a name is
/// taken is told only to who knows the password.
/// </summary>
internal sealed class ChangeSignInName(SchoolDb db, UserManager<Person> people, SignInNames names, CheckPresentPassword check, Audit audit, ILogger<ChangeSignInName> logger)
{
    public async Task<Outcome<Person>> RunAsync(Viewer viewer, NewSignInName wish, CancellationToken cancel)
    {
        var name = (wish.Name ?? "").Trim();
        var email = await db.Set<Person>().AsNoTracking().Where(p => p.Id == viewer.PersonId).Select(p => p.NormalizedEmail).SingleAsync(cancel);
        var errors = new FieldErrors();
        if (SignInNames.FormOf(name) != email && SignInName.Problem(name) is { } problem)
        {
            errors.Add(nameof(wish.Name), problem);
        }

        if (await check.RunAsync(viewer, wish.Present, cancel) is { } wrong)
        {
            if (wrong.Fields.Count == 0)
            {
                return wrong;
            }

            errors.AddAll(wrong);
        }

        if (errors.ToRefusal() is { } refusal)
        {
            return refusal;
        }

        var changed = await db.InTransactionAsync<Person>(
            async cancel =>
            {
                await db.LockAsync([SignInNames.Lock], cancel);
                var person = await db.Set<Person>().SingleAsync(p => p.Id == viewer.PersonId, cancel);
                if (!await names.IsFreeAsync(name, person.Id, cancel))
                {
                    return Refusal.Invalid(nameof(wish.Name), SignInNames.Taken);
                }

                if (person.UserName == name)
                {
                    return person;
                }

                person.UserName = name;
                audit.Note(viewer, "sign-in.name", person.Id, "Changed the name to sign in with.");
                return (await people.UpdateAsync(person)).ToRefusal(nameof(wish.Name)) is { } clash ? clash : person;
            },
            cancel);
        if (changed.Ok)
        {
            SignInLog.Changed(logger, viewer.PersonId, "name to sign in with changed");
        }

        return changed;
    }
}
