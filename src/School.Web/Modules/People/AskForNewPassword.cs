using NodaTime;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.SignIn;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;
using School.Web.Platform.Security;

namespace School.Web.Modules.People;

/// <summary>
/// Notes that somebody wants a new password. Whether that name is known is looked up afterwards by a job: neither the answer nor its
/// time tells (OWASP ASVS 5.0 V6.3.8).
/// </summary>
internal sealed class AskForNewPassword(SchoolDb db, Attempts attempts, IClock clock)
{
    public const int MostPerNetwork = 20;

    public async Task<Outcome<PasswordWish>> RunAsync(SignInCaller caller, string name, CancellationToken cancel)
    {
        if (!await attempts.AllowAsync("reset-network", caller.Network, MostPerNetwork, CheckPassword.Window, cancel))
        {
            return TooManyTries.For(attempts.LeftOf(CheckPassword.Window));
        }

        var line = CleanText.Line(name);
        return await db.InTransactionAsync<PasswordWish>(
            _ =>
            {
                var wish = new PasswordWish { Name = line[..Math.Min(line.Length, PasswordWish.Longest)], At = clock.GetCurrentInstant() };
                db.Add(wish);
                return Task.FromResult<Outcome<PasswordWish>>(wish);
            },
            cancel);
    }
}
