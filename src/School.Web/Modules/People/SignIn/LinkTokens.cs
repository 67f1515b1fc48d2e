using System.Globalization;
using System.Security.Cryptography;
using Microsoft.AspNetCore.DataProtection;
using Microsoft.AspNetCore.Identity;
using NodaTime;

namespace School.Web.Modules.People.SignIn;

/// <summary>
/// Tokens of the links in mails. Each purpose has its own lifetime (OWASP ASVS 5.0 V6.5.5); the person's security stamp is inside, so
/// that using one ends it, and for a new password the stamp of the newest link, so that asking for another ends it.
/// </summary>
internal sealed class LinkTokens(IDataProtectionProvider protection, IClock clock) : IUserTwoFactorTokenProvider<Person>
{
    public const string Provider = "Link";
    public const string Invitation = "Invitation";

    /// <summary>Of the letter that finds out whether letters arrive; the mail server that carries it stands behind.</summary>
    public const string Reached = "Reached ";
    public static readonly Duration InvitationLifetime = Duration.FromDays(7);
    public static readonly Duration ResetLifetime = Duration.FromHours(1);
    private readonly IDataProtector _protector = protection.CreateProtector("School.LinkTokens.v1");

    public Task<bool> CanGenerateTwoFactorTokenAsync(UserManager<Person> manager, Person user) => Task.FromResult(false);

    public Task<string> GenerateAsync(string purpose, UserManager<Person> manager, Person user)
    {
        var ends = clock.GetCurrentInstant() + LifetimeOf(purpose);
        return Task.FromResult(_protector.Protect(string.Join('\n', ends.ToUnixTimeSeconds().ToString(CultureInfo.InvariantCulture), Rest(purpose, user))));
    }

    public Task<bool> ValidateAsync(string purpose, string token, UserManager<Person> manager, Person user)
    {
        try
        {
            return Task.FromResult(
                _protector.Unprotect(token).Split('\n', 2) is [var ends, var rest]
                && rest == Rest(purpose, user)
                && clock.GetCurrentInstant() < Instant.FromUnixTimeSeconds(long.Parse(ends, CultureInfo.InvariantCulture)));
        }
        catch (Exception wrong) when (wrong is CryptographicException or FormatException)
        {
            return Task.FromResult(false);
        }
    }

    private static string Rest(string purpose, Person person) =>
        $"{purpose}\n{person.Id}\n{person.SecurityStamp}\n{(purpose == UserManager<Person>.ResetPasswordTokenPurpose ? person.ResetStamp : null)}";

    private static Duration LifetimeOf(string purpose) => purpose switch
    {
        UserManager<Person>.ResetPasswordTokenPurpose => ResetLifetime,
        Invitation => InvitationLifetime,
        _ when purpose.StartsWith(Reached, StringComparison.Ordinal) => InvitationLifetime,
        _ => throw new ArgumentOutOfRangeException(nameof(purpose), purpose, "A link for this has no lifetime."),
    };
}
