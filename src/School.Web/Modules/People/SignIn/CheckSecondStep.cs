using Microsoft.AspNetCore.Identity;
using School.Web.Platform.Errors;
using School.Web.Platform.Security;

namespace School.Web.Modules.People.SignIn;

/// <summary>Second step of signing in: the code an authenticator shows, or a recovery code, each good for one use.</summary>
internal sealed class CheckSecondStep(UserManager<Person> people, Attempts attempts)
{
    public static readonly Refusal Wrong = new(
        RefusalKind.NotSignedIn, "wrong_code", "That code is not right, or was used before. Wait for the next one, or use a recovery code.");

    public async Task<Outcome<Person>> RunAsync(Person person, string code, CancellationToken cancel)
    {
        var account = person.Id.ToString();
        if (!await attempts.AllowAsync("second-step", account, CheckPassword.MostPerAccount, CheckPassword.Window, cancel))
        {
            return CheckPassword.TooMany;
        }

        var typed = code.Replace(" ", "", StringComparison.Ordinal);
        var right = typed.Length == Totp.Digits
            ? await people.VerifyTwoFactorTokenAsync(person, TokenOptions.DefaultAuthenticatorProvider, typed)
            : (await people.RedeemTwoFactorRecoveryCodeAsync(person, typed)).Succeeded;
        if (!right)
        {
            return Wrong;
        }

        await attempts.GiveBackAsync("second-step", account, CheckPassword.Window, cancel);
        return person;
    }
}
