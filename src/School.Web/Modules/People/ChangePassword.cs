using Microsoft.AspNetCore.Identity;
using School.Web.Modules.People.SignIn;
using School.Web.Platform.Errors;
using School.Web.Platform.Security;

namespace School.Web.Modules.People;

/// <summary>Changes a password for somebody who knows the present one; every other cookie and token ends.</summary>
internal sealed class ChangePassword(UserManager<Person> people, Attempts attempts)
{
    private const string What = "present-password";

    public async Task<Outcome<Person>> RunAsync(Person person, string present, string password, CancellationToken cancel)
    {
        if (await IsAsync(person, present, cancel) is { } refusal)
        {
            return refusal;
        }

        return (await people.ChangePasswordAsync(person, present, password)).ToRefusal("Password") is { } wrong ? wrong : person;
    }

    /// <summary>Null when the current password is right; also for other changes that want it again.</summary>
    public async Task<Refusal?> IsAsync(Person person, string present, CancellationToken cancel)
    {
        if (!await attempts.AllowAsync(What, person.Id.ToString(), CheckPassword.MostPerAccount, CheckPassword.Window, cancel))
        {
            return CheckPassword.TooMany;
        }

        if (!await people.CheckPasswordAsync(person, present))
        {
            return Refusal.Invalid("Present", "That is not your current password.");
        }

        await attempts.GiveBackAsync(What, person.Id.ToString(), CheckPassword.Window, cancel);
        return null;
    }
}
