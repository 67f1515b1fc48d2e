using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using School.Web.Modules.People.SignIn;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People;

/// <summary>Replaces a forgotten password through the link that was sent; every session and token of before ends.</summary>
internal sealed class ChooseNewPassword(SchoolDb db, UserManager<Person> people, CheckPassword tries, Audit audit, ILogger<ChooseNewPassword> logger)
{
    private static readonly Refusal TooOld = Refusal.Rule(
        "link_over", "This link was used before, replaced by a newer one, or is more than an hour old. Ask for a new one.");

    /// <summary>Whose password a link renews; null when it is not, or no longer, good.</summary>
    public async Task<string?> WhoseAsync(Guid id, string? token, CancellationToken cancel) =>
        (await WhomAsync(db.Set<Person>().AsNoTracking(), id, token, cancel))?.Name;

    public async Task<Outcome<Proven>> RunAsync(SignInCaller caller, Guid id, LinkUse use, CancellationToken cancel)
    {
        var chosen = await db.InTransactionAsync<Proven>(
            async cancel =>
            {
                if (await WhomAsync(db.Set<Person>(), id, use.Token, cancel) is not { } person)
                {
                    return TooOld;
                }

                if ((await people.ResetPasswordAsync(person, use.Token!, use.Password ?? "")).ToRefusal("Password") is { } refusal)
                {
                    return refusal;
                }

                await tries.ForgetTriesAsync(person.Id, caller, cancel);
                var who = Proven.Of(person);
                audit.Note(who.Viewer, "password.choose", person.Id, "Chose a new password by the link of a letter.");
                return who;
            },
            cancel);
        if (chosen.Ok)
        {
            SignInLog.Changed(logger, id, "password chosen by a link");
        }

        return chosen;
    }

    private async Task<Person?> WhomAsync(IQueryable<Person> rows, Guid id, string? token, CancellationToken cancel) =>
        token is not null
        && await rows.SingleOrDefaultAsync(p => p.Id == id && !p.Closed, cancel) is { } person
        && await people.VerifyUserTokenAsync(person, LinkTokens.Provider, UserManager<Person>.ResetPasswordTokenPurpose, token)
            ? person
            : null;
}
