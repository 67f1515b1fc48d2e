using Microsoft.AspNetCore.Identity;
using NodaTime;
using School.Web.Platform.Errors;
using School.Web.Platform.Security;

namespace School.Web.Modules.People.SignIn;

/// <summary>
/// First step of signing in, for page and API alike. A wrong password, an unknown name and a closed account get the same sentence
/// after the same work.
/// </summary>
/// <remarks>
/// Tries are limited per account and network together, and per network; for an account as a whole they only become slower, so that
/// nobody can lock somebody else out. A browser on which this person signed in before has a limit of its own.
/// </remarks>
internal sealed class CheckPassword(SignInNames names, UserManager<Person> people, Attempts attempts, SignInEvents events)
{
    public const int MostPerAccount = 10;
    public const int MostPerNetwork = 50;
    public static readonly Duration Window = Duration.FromMinutes(15);

    public static readonly Refusal Wrong = new(
        RefusalKind.NotSignedIn, "wrong_sign_in", "That name and password do not go together. Check both, or ask for a new password.");

    private const string PerDevice = "sign-in-device";
    private const string PerPair = "sign-in-account-and-network";
    private const string PerNetwork = "sign-in-network";
    private const string PerAccount = "sign-in-account";
    private static readonly Duration DelayStep = Duration.FromMilliseconds(250);
    private static readonly Duration LongestDelay = Duration.FromSeconds(4);

    private static string? _nobodysHash;

    public async Task<Outcome<Proven>> RunAsync(string name, string password, SignInCaller caller, CancellationToken cancel)
    {
        var person = await names.FindAsync(name, cancel);
        // What was found is one account however it was typed.
        var account = person is null ? $"nobody {SignInNames.FormOf(name)}" : AccountOf(person.Id);
        var strange = person is null || !caller.Devices.ContainsKey(person.Id);
        (string What, string Subject, int Most)[] limits = strange
            ? [(PerPair, PairOf(account, caller), MostPerAccount), (PerNetwork, caller.Network, MostPerNetwork)]
            : [(PerDevice, caller.Devices[person!.Id].ToString(), MostPerAccount)];

        // Only failures count in the end; counting first keeps simultaneous guesses within the limit.
        var within = true;
        foreach (var (what, subject, most) in limits)
        {
            within &= await attempts.AllowAsync(what, subject, most, Window, cancel);
        }

        if (!within)
        {
            await events.LockedAsync(person?.Id, "password", cancel);
            return TooManyTries.For(attempts.LeftOf(Window));
        }

        if (strange)
        {
            await Task.Delay(DelayAfter(await attempts.CountAsync(PerAccount, account, Window, cancel)).ToTimeSpan(), cancel);
        }

        if (!Matches(person, password) || person!.Closed)
        {
            await events.WrongAsync(person?.Id, "password", cancel);
            return Wrong;
        }

        foreach (var (what, subject, _) in strange ? limits.Append((PerAccount, account, 0)) : limits)
        {
            await attempts.GiveBackAsync(what, subject, Window, cancel);
        }

        return Proven.Of(person);
    }

    /// <summary>Whoever guessed at the old password must not keep its owner out with the new one.</summary>
    public async Task ForgetTriesAsync(Guid person, SignInCaller caller, CancellationToken cancel)
    {
        var account = AccountOf(person);
        await attempts.ForgetAsync(PerAccount, account, Window, cancel);
        await attempts.ForgetAsync(PerPair, PairOf(account, caller), Window, cancel);
        if (caller.Devices.TryGetValue(person, out var device))
        {
            await attempts.ForgetAsync(PerDevice, device.ToString(), Window, cancel);
        }
    }

    internal static Duration DelayAfter(int tries) => Duration.Min(LongestDelay, DelayStep * Math.Max(0, tries - MostPerAccount));

    private static string AccountOf(Guid person) => person.ToString();

    private static string PairOf(string account, SignInCaller caller) => $"{account} {caller.Network}";

    private bool Matches(Person? person, string password)
    {
        _nobodysHash ??= people.PasswordHasher.HashPassword(null!, Guid.NewGuid().ToString());
        var matches = people.PasswordHasher.VerifyHashedPassword(person!, person?.PasswordHash ?? _nobodysHash, password) != PasswordVerificationResult.Failed;
        return matches && person?.PasswordHash is not null;
    }
}

internal static class TooManyTries
{
    public static Refusal For(Duration wait)
    {
        var minutes = (int)Math.Ceiling(wait.TotalMinutes);
        return new(RefusalKind.TooMany, "too_many_tries", $"Too many tries. Wait {minutes} {(minutes == 1 ? "minute" : "minutes")}, then try again, or ask for a new password.")
        {
            RetryAfter = wait,
        };
    }
}
