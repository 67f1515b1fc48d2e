using Microsoft.AspNetCore.Identity;
using NodaTime;
using School.Web.Platform.Errors;
using School.Web.Platform.Security;

namespace School.Web.Modules.People.SignIn;

/// <summary>
/// First step of signing in, for page and API alike. Tries are limited per account and per address; a wrong password, an unknown
/// account and a closed one get the same sentence after the same work.
/// </summary>
internal sealed class CheckPassword(UserManager<Person> people, Attempts attempts)
{
    public const int MostPerAccount = 10;
    public const string PerAccount = "sign-in-account";
    public const int MostPerAddress = 50;
    public static readonly Duration Window = Duration.FromMinutes(15);

    public static readonly Refusal Wrong = new(
        RefusalKind.NotSignedIn, "wrong_sign_in", "That e-mail address and password do not go together. Check both, or ask for a new password.");

    public static readonly Refusal TooMany = new(
        RefusalKind.TooMany, "too_many_tries", "Too many tries. Wait a quarter of an hour, then try again, or ask for a new password.");

    private static string? _nobodysHash;

    public async Task<Outcome<Person>> RunAsync(string email, string password, string address, CancellationToken cancel)
    {
        var inAddress = await attempts.AllowAsync("sign-in-address", address, MostPerAddress, Window, cancel);
        var inAccount = await attempts.AllowAsync(PerAccount, email, MostPerAccount, Window, cancel);
        if (!inAddress || !inAccount)
        {
            return TooMany;
        }

        var person = await people.FindByEmailAsync(email);
        if (!Matches(person, password) || person!.Closed)
        {
            return Wrong;
        }

        // Only failures count in the end; counting first keeps simultaneous guesses within the limit.
        await attempts.GiveBackAsync("sign-in-address", address, Window, cancel);
        await attempts.GiveBackAsync(PerAccount, email, Window, cancel);
        return person;
    }

    private bool Matches(Person? person, string password)
    {
        _nobodysHash ??= people.PasswordHasher.HashPassword(null!, Guid.NewGuid().ToString());
        var matches = people.PasswordHasher.VerifyHashedPassword(person!, person?.PasswordHash ?? _nobodysHash, password) != PasswordVerificationResult.Failed;
        return matches && person?.PasswordHash is not null;
    }
}
