using System.Security.Cryptography;
using System.Text;
using Microsoft.AspNetCore.Identity;
using Microsoft.AspNetCore.Identity.EntityFrameworkCore;
using School.Web.Platform.Database;
using School.Web.Platform.Security;

namespace School.Web.Modules.People.SignIn;

/// <summary>Keeps the secrets of the second step so that the database alone does not give them away: keys encrypted, recovery codes hashed.</summary>
internal sealed class PersonStore(SchoolDb db, Sealer sealer, IdentityErrorDescriber describer) : UserOnlyStore<Person, SchoolDb, Guid>(db, describer)
{
    private const string Keeper = "School";
    private const string Codes = "RecoveryCodes";

    public override Task SetAuthenticatorKeyAsync(Person user, string key, CancellationToken cancellationToken) =>
        base.SetAuthenticatorKeyAsync(user, sealer.Seal(key)!, cancellationToken);

    public override async Task<string?> GetAuthenticatorKeyAsync(Person user, CancellationToken cancellationToken) =>
        sealer.Open(await base.GetAuthenticatorKeyAsync(user, cancellationToken));

    public override Task ReplaceCodesAsync(Person user, IEnumerable<string> recoveryCodes, CancellationToken cancellationToken) =>
        SetTokenAsync(user, Keeper, Codes, string.Join(';', recoveryCodes.Select(HashOf)), cancellationToken);

    public override async Task<bool> RedeemCodeAsync(Person user, string code, CancellationToken cancellationToken)
    {
        var left = await LeftAsync(user, cancellationToken);
        if (!left.Remove(HashOf(code.ToUpperInvariant())))
        {
            return false;
        }

        await SetTokenAsync(user, Keeper, Codes, string.Join(';', left), cancellationToken);
        return true;
    }

    public override async Task<int> CountCodesAsync(Person user, CancellationToken cancellationToken) => (await LeftAsync(user, cancellationToken)).Count;

    private async Task<List<string>> LeftAsync(Person user, CancellationToken cancel) =>
        [.. (await GetTokenAsync(user, Keeper, Codes, cancel) ?? "").Split(';', StringSplitOptions.RemoveEmptyEntries)];

    private static string HashOf(string code) => Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(code)));
}
