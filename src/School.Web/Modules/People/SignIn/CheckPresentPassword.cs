using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Security;

namespace School.Web.Modules.People.SignIn;

/// <summary>Asks somebody who is signed in for the password again, before a change that a browser left open must not be enough for.</summary>
internal sealed class CheckPresentPassword(SchoolDb db, IPasswordHasher<Person> hasher, Attempts attempts, SignInEvents events)
{
    private const string What = "present-password";

    /// <summary>Null when it is right.</summary>
    public async Task<Refusal?> RunAsync(Viewer viewer, string? present, CancellationToken cancel)
    {
        var account = viewer.PersonId.ToString();
        if (!await attempts.AllowAsync(What, account, CheckPassword.MostPerAccount, CheckPassword.Window, cancel))
        {
            await events.LockedAsync(viewer.PersonId, "present password", cancel);
            return TooManyTries.For(attempts.LeftOf(CheckPassword.Window));
        }

        var person = await db.Set<Person>().AsNoTracking().SingleAsync(p => p.Id == viewer.PersonId, cancel);
        if (person.PasswordHash is null || hasher.VerifyHashedPassword(person, person.PasswordHash, present ?? "") == PasswordVerificationResult.Failed)
        {
            await events.WrongPresentPasswordAsync(viewer, cancel);
            return Refusal.Invalid("Present", "That is not your current password.");
        }

        await attempts.GiveBackAsync(What, account, CheckPassword.Window, cancel);
        return null;
    }
}
