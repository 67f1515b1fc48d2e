using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using School.Core.People;
using School.Web.Modules.People.SignIn;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People;

/// <summary>What comes back by the link of a letter.</summary>
internal sealed record LinkUse(string? Token, string? Password, string? SignInName = null);

/// <summary>
/// Chooses the first password through the link of an invitation, which is used up by it; and the name to sign in with, where others have the
/// same address.
/// </summary>
internal sealed class AcceptInvitation(SchoolDb db, UserManager<Person> people, SignInNames names, Audit audit, ILogger<AcceptInvitation> logger)
{
    public static readonly Refusal TooOld = Refusal.Rule("link_over", "This invitation was used before, replaced by a newer one, or is older than seven days. Ask the school for a new one.");

    /// <summary>Whom a link invites; null when it is not, or no longer, good.</summary>
    public Task<Person?> WhomAsync(Guid id, string? token, CancellationToken cancel) => WhomAsync(db.Set<Person>().AsNoTracking(), id, token, cancel);

    public async Task<Outcome<Proven>> RunAsync(Guid id, LinkUse use, CancellationToken cancel)
    {
        var accepted = await db.InTransactionAsync<Proven>(
            async cancel =>
            {
                await db.LockAsync([SignInNames.Lock], cancel);
                if (await WhomAsync(db.Set<Person>(), id, use.Token, cancel) is not { } person)
                {
                    return TooOld;
                }

                var errors = new FieldErrors();
                if (person.AwaitsName)
                {
                    var name = (use.SignInName ?? "").Trim();
                    if (SignInName.Problem(name) is { } problem)
                    {
                        errors.Add(nameof(use.SignInName), problem);
                    }
                    else if (!await names.IsFreeAsync(name, id, cancel))
                    {
                        errors.Add(nameof(use.SignInName), SignInNames.Taken);
                    }
                    else
                    {
                        person.UserName = name;
                    }
                }

                if (errors.Any)
                {
                    // The name is wrong already; what is wrong with the password is told in the same round.
                    return errors.AddAll(await PasswordProblemsAsync(person, use.Password ?? "")).ToRefusal()!;
                }

                // Following the link has shown that the address is theirs.
                person.EmailConfirmed = true;
                if ((await people.AddPasswordAsync(person, use.Password ?? "")).ToRefusal("Password") is { } refusal)
                {
                    return refusal;
                }

                var who = Proven.Of(person);
                audit.Note(who.Viewer, "password.choose", person.Id, "Chose a first password by the link of an invitation.");
                return who;
            },
            cancel);
        if (accepted.Ok)
        {
            SignInLog.Changed(logger, id, "password chosen by an invitation");
        }

        return accepted;
    }

    private async Task<FieldErrors> PasswordProblemsAsync(Person person, string password)
    {
        var errors = new FieldErrors();
        foreach (var validator in people.PasswordValidators)
        {
            if ((await validator.ValidateAsync(people, person, password)).ToRefusal("Password") is { } refusal)
            {
                errors.AddAll(refusal);
            }
        }

        return errors;
    }

    private async Task<Person?> WhomAsync(IQueryable<Person> rows, Guid id, string? token, CancellationToken cancel) =>
        token is not null
        && await rows.SingleOrDefaultAsync(p => p.Id == id && !p.Closed && p.PasswordHash == null, cancel) is { } person
        && await people.VerifyUserTokenAsync(person, LinkTokens.Provider, LinkTokens.Invitation, token)
            ? person
            : null;
}
