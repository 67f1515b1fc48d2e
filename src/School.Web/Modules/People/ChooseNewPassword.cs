using Microsoft.AspNetCore.Identity;
using School.Web.Modules.People.SignIn;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Security;

namespace School.Web.Modules.People;

/// <summary>Replaces a forgotten password through the link that was sent; every cookie and token of before ends.</summary>
internal sealed class ChooseNewPassword(SchoolDb db, UserManager<Person> people, Attempts attempts)
{
    private static readonly Refusal TooOld = Refusal.Rule("link_over", "This link was used before, or is more than an hour old. Ask for a new one.");

    /// <summary>Whose password a link renews; null when it is not, or no longer, good.</summary>
    public async Task<Person?> WhomAsync(Guid id, string? token) =>
        token is not null
        && await people.FindByIdAsync(id.ToString()) is { Closed: false } person
        && await people.VerifyUserTokenAsync(person, LinkTokens.Provider, UserManager<Person>.ResetPasswordTokenPurpose, token)
            ? person
            : null;

    public Task<Outcome<Person>> RunAsync(Guid id, string? token, string password, CancellationToken cancel) => db.InTransactionAsync<Person>(
        async cancel =>
        {
            if (await WhomAsync(id, token) is not { } person)
            {
                return TooOld;
            }

            if ((await people.ResetPasswordAsync(person, token!, password)).ToRefusal("Password") is { } refusal)
            {
                return refusal;
            }

            // Whoever guessed at the old password must not keep its owner out with the new one.
            await attempts.ForgetAsync(CheckPassword.PerAccount, person.Email!, CheckPassword.Window, cancel);
            return person;
        },
        cancel);
}
