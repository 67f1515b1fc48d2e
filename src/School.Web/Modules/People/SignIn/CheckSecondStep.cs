using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Security;

namespace School.Web.Modules.People.SignIn;

/// <summary>Second step of signing in: the code an authenticator shows, or a recovery code, each good for one use.</summary>
internal sealed class CheckSecondStep(SchoolDb db, UserManager<Person> people, Attempts attempts, SignInEvents events)
{
    public static readonly Refusal Wrong = new(
        RefusalKind.NotSignedIn, "wrong_code", "That code is not right, or was used before. Wait for the next one, or use a recovery code.");

    /// <summary>As it may be typed, with spaces.</summary>
    public const int LongestCode = 40;

    private const string What = "second-step";
    private const string PerDevice = "second-step-device";

    /// <remarks>Six digits are few: the limit is for the whole account, and only reached by who knows the password. The owner's own browser still has its own.</remarks>
    public async Task<Outcome<Proven>> RunAsync(Proven who, string code, SignInCaller caller, CancellationToken cancel)
    {
        var known = caller.Devices.TryGetValue(who.Viewer.PersonId, out var device);
        var (what, subject) = known ? (PerDevice, device.ToString()) : (What, who.Viewer.PersonId.ToString());
        if (!await attempts.AllowAsync(what, subject, CheckPassword.MostPerAccount, CheckPassword.Window, cancel))
        {
            await events.LockedAsync(who.Viewer.PersonId, "code", cancel);
            return TooManyTries.For(attempts.LeftOf(CheckPassword.Window));
        }

        var typed = code.Replace(" ", "", StringComparison.Ordinal);
        var through = await db.InTransactionAsync<Proven>(
            async cancel =>
            {
                // The password was right under the old stamp; with another one it has to be given again.
                var person = await db.Set<Person>().SingleOrDefaultAsync(p => p.Id == who.Viewer.PersonId && !p.Closed && p.SecurityStamp == who.Stamp, cancel);
                return person is not null && await IsRightAsync(person, typed) ? Proven.Of(person) : Wrong;
            },
            cancel);
        if (!through.Ok)
        {
            await events.WrongAsync(who.Viewer.PersonId, "code", cancel);
            return Wrong;
        }

        await attempts.GiveBackAsync(what, subject, CheckPassword.Window, cancel);
        return through;
    }

    private async Task<bool> IsRightAsync(Person person, string typed) => typed.Length == Totp.Digits
        ? await people.VerifyTwoFactorTokenAsync(person, TokenOptions.DefaultAuthenticatorProvider, typed)
        : (await people.RedeemTwoFactorRecoveryCodeAsync(person, typed)).Succeeded;
}
