using Microsoft.AspNetCore.Identity;
using School.Web.Modules.People.SignIn;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People;

/// <summary>Chooses the first password through the link of an invitation, which is used up by it.</summary>
internal sealed class AcceptInvitation(SchoolDb db, UserManager<Person> people)
{
    public static readonly Refusal TooOld = Refusal.Rule("link_over", "This invitation was used before, replaced by a newer one, or is older than seven days. Ask the school for a new one.");

    /// <summary>Whom a link invites; null when it is not, or no longer, good.</summary>
    public async Task<Person?> WhomAsync(Guid id, string? token) =>
        token is not null
        && await people.FindByIdAsync(id.ToString()) is { Closed: false, PasswordHash: null } person
        && await people.VerifyUserTokenAsync(person, LinkTokens.Provider, LinkTokens.Invitation, token)
            ? person
            : null;

    public Task<Outcome<Person>> RunAsync(Guid id, string? token, string password, CancellationToken cancel) => db.InTransactionAsync<Person>(
        async _ =>
        {
            if (await WhomAsync(id, token) is not { } person)
            {
                return TooOld;
            }

            // Following the link has shown that the address is theirs.
            person.EmailConfirmed = true;
            return (await people.AddPasswordAsync(person, password)).ToRefusal("Password") is { } refusal ? refusal : person;
        },
        cancel);
}
