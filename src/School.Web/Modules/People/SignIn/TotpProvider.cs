using System.Globalization;
using System.Security.Cryptography;
using System.Text;
using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Platform.Database;

namespace School.Web.Modules.People.SignIn;

/// <summary>Checks the code of an authenticator: this step or the one before or after it, and each step once (RFC 6238 section 5.2).</summary>
internal sealed class TotpProvider(SchoolDb db, IClock clock) : IUserTwoFactorTokenProvider<Person>
{
    private const string Keeper = "School";
    private const string LastStep = "LastStep";

    public async Task<bool> CanGenerateTwoFactorTokenAsync(UserManager<Person> manager, Person user) =>
        !string.IsNullOrEmpty(await manager.GetAuthenticatorKeyAsync(user));

    /// <summary>The authenticator makes the codes, never the service.</summary>
    public Task<string> GenerateAsync(string purpose, UserManager<Person> manager, Person user) => Task.FromResult("");

    public async Task<bool> ValidateAsync(string purpose, string token, UserManager<Person> manager, Person user)
    {
        if (await manager.GetAuthenticatorKeyAsync(user) is not { Length: > 0 } key)
        {
            return false;
        }

        var secret = Totp.FromBase32(key);
        var typed = Encoding.UTF8.GetBytes(token);
        var now = Totp.StepOf(clock.GetCurrentInstant());
        foreach (var step in new[] { now, now - 1, now + 1 })
        {
            if (CryptographicOperations.FixedTimeEquals(Encoding.UTF8.GetBytes(Totp.Code(secret, step)), typed))
            {
                return await UseAsync(user.Id, step);
            }
        }

        return false;
    }

    /// <summary>Marks the step as used; false when it, or a later one, was used before, also through another node.</summary>
    private async Task<bool> UseAsync(Guid person, long step)
    {
        var text = step.ToString(CultureInfo.InvariantCulture);
        return await db.Database.ExecuteSqlAsync(
            $"""
             INSERT INTO people.person_tokens (user_id, login_provider, name, value) VALUES ({person}, {Keeper}, {LastStep}, {text})
             ON CONFLICT (user_id, login_provider, name) DO UPDATE SET value = EXCLUDED.value
             WHERE person_tokens.value::bigint < EXCLUDED.value::bigint
             """) == 1;
    }
}
