using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Database;
using School.Web.Platform.Operations;
using School.Web.Platform.Security;

namespace School.Web.Modules.People.SignIn;

/// <summary>Whoever set up a sign-in code can use it: its secret can be read.</summary>
internal sealed class SecondStepsOpen(Sealer sealer) : IInvariant
{
    // Identity's own name for it.
    private const string TokenName = "AuthenticatorKey";

    public string Code => "second_steps_open";

    public string Sentence => "the secret of every sign-in code can be decrypted";

    public async Task<Finding> LookAsync(SchoolDb db, CancellationToken cancel)
    {
        var secrets = await db.Set<IdentityUserToken<Guid>>().AsNoTracking()
            .Where(t => t.Name == TokenName && t.Value != null).OrderBy(t => t.UserId).Select(t => new { t.UserId, t.Value }).ToListAsync(cancel);
        return new(secrets.Count, [.. secrets.Where(t => !sealer.Opens(t.Value)).Select(t => $"person {t.UserId}")]);
    }
}
